"""A decision in the making: every step is a fact, and is in force for the next step.

The rules work on a draft and never on the visit itself; what they did is the list of its facts.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Any

from dictation.visit import facts
from dictation.visit.apply import apply
from dictation.visit.facts import Fact
from dictation.visit.inputs import Asked
from dictation.visit.parts import (
    Alternative,
    Effect,
    Frame,
    Name,
    Phrase,
    Placed,
    Query,
    QueryState,
)
from dictation.visit.state import Visit, exam_name
from grammar.exam import FindingState, KnownAnimal, RecordedFinding
from grammar.findings import Animal, Finding


@dataclass(frozen=True, slots=True)
class Breath:
    """A phrase being performed.

    ``sure``: its findings are accepted, otherwise they are recorded as queried. ``started_at``:
    when an exam that it opens began.
    """

    phrase: Phrase
    sure: bool = True
    started_at: str | None = None


class Draft:
    """A visit, and the facts that led to it from the one it began with."""

    def __init__(self, visit: Visit) -> None:
        self.visit = visit
        self.facts: list[Fact] = []

    def add(self, fact: Fact) -> None:
        """One more fact."""
        self.visit = apply(self.visit, fact)
        self.facts.append(fact)

    def go(self, slot: str, now: bool | int | str | None) -> None:
        """Set a slot of ``Going``; nothing where it is so already."""
        was = getattr(self.visit.going, slot)
        if was != now:
            self.add(facts.GoingSet(slot, was, now))

    def reply(self, sentence: str) -> None:
        """Answer the speaker."""
        self.go("reply", sentence)

    def open_exam(self, started_at: str | None, *, implied: bool = False) -> None:
        """A new exam in hand behind all others, without a tag yet."""
        exams = self.visit.exams
        last = exams[-1].number if exams else None
        self.go("in_hand", self.add_exam(Frame(last, started_at, implied)))
        self.go("closed", False)

    def add_exam(self, frame: Frame) -> int:
        """A new exam; its number."""
        number = self.visit.given.exam + 1
        self.add(facts.ExamSet(number, None, frame))
        return number

    def close_exam(self) -> None:
        """No exam in hand. One in which nothing at all was said is dropped."""
        exam = self.visit.exam_in_hand
        if exam is None:
            return
        self.go("in_hand", None)
        if exam.recorded or self.asked_ever(exam.number):
            self.set_closed(exam.number, True)
        else:
            self.drop_exam(exam.number)

    def asked_ever(self, exam: int) -> bool:
        """Whether anything was ever asked of an exam, as far as it is still there."""
        return any(q.exam == exam for q in self.visit.all_queries.values())

    def set_closed(self, number: int, closed: bool) -> None:
        """Close an exam, or open it again."""
        exam = self.visit.exam(number)
        if exam is not None and exam.closed is not closed:
            self.add(facts.ExamClosed(number, exam.closed, closed))

    def drop_exam(self, number: int, into: int | None = None) -> None:
        """Take an empty exam away. Its number is not given again."""
        exam = self.visit.exam(number)
        if exam is None:
            return
        self.set_closed(number, False)
        if self.visit.in_hand == number:
            self.go("in_hand", None)
        places = [e.number for e in self.visit.exams]
        at = places.index(number)
        frame = Frame(places[at - 1] if at else None, exam.started_at)
        self.add(facts.ExamSet(number, frame, None, into))

    def add_finding(self, recorded: RecordedFinding, exam: int) -> int:
        """A new finding in an exam, under the next free number, which is given back."""
        number = self.visit.given.finding + 1
        self.put(Placed(exam, replace(recorded, number=number)))
        return number

    def record(
        self, finding: Finding, exam: int, state: FindingState, heard: str, of: Phrase | None
    ) -> int:
        """A new finding of a phrase, or of none; its number."""
        recorded = RecordedFinding(0, finding, state, heard)
        if of is not None:
            recorded = RecordedFinding(
                0, finding, state, heard, of.at_s, of.until_s, of.confidence, of.number
            )
        return self.add_finding(recorded, exam)

    def put(self, placed: Placed) -> None:
        """A finding as it is now, and where."""
        number = placed.recorded.number
        was = self.visit.placed(number)
        if was != placed:
            self.add(facts.FindingSet(number, was, placed))
            names = any(isinstance(p.recorded.finding, Animal) for p in (was, placed) if p)
            for exam in {p.exam for p in (was, placed) if p is not None} if names else ():
                self.name(exam)

    def change(self, number: int, **fields: Any) -> None:
        """The finding with other fields."""
        placed = self.visit.placed(number)
        if placed is not None:
            self.put(replace(placed, recorded=replace(placed.recorded, **fields)))

    def set_state(self, number: int, state: FindingState) -> None:
        """The finding in another state."""
        self.change(number, state=state)

    def set_value(self, number: int, value: Finding, heard: str | None = None) -> None:
        """The finding with another value, as corrected; ``heard`` is added to its words."""
        recorded = self.visit.recorded(number)
        if recorded is not None:
            words = recorded.heard if heard is None else f"{recorded.heard}; {heard}"
            self.change(number, finding=value, state=FindingState.CORRECTED, heard=words)

    def move(self, numbers: Iterable[int], to_exam: int) -> None:
        """Findings in another exam."""
        touched = {to_exam}
        for number in sorted(numbers):
            placed = self.visit.placed(number)
            if placed is not None and placed.exam != to_exam:
                touched.add(placed.exam)
                self.add(facts.FindingSet(number, placed, replace(placed, exam=to_exam)))
        for exam in sorted(touched):
            self.name(exam)

    def name(self, number: int) -> None:
        """The tag of an exam, as its findings have it now: that of the last animal named in it."""
        exam = self.visit.exam(number)
        if exam is None:
            return
        said = [r.finding for r in exam.standing if isinstance(r.finding, Animal)]
        tag = next((a.tag for a in reversed(said) if a.tag), None)
        electronic = next((a.electronic_id for a in reversed(said) if a.electronic_id), None)
        listed = next((a.listed for a in reversed(said) if a.tag), None)
        known = known_animal(self.visit, Animal(tag, electronic, listed))
        # Of whatever was said of her numbers, her name is the one that the list calls her by.
        if known is not None and (tag is None or known.bears(tag)):
            tag = known.tag
        was = exam_name(exam)
        now = Name(tag, None if known is None else known.tag)
        if was != now:
            self.add(facts.ExamNamed(number, was, now))

    def ask(
        self,
        phrase: int,
        question: str,
        why: str,
        alternatives: tuple[Alternative, ...] = (),
        no: Effect | None = None,
    ) -> None:
        """Open a query about a phrase in the exam in hand."""
        earlier = len(self.visit.index.raised.get(phrase, ()))
        name = f"u{phrase}" if not earlier else f"u{phrase}.{earlier + 1}"
        self.raise_query(name, phrase, self.visit.in_hand, Asked(question, why, alternatives, no))
        self.reply(question)

    def raise_query(self, name: str, phrase: int, exam: int | None, asked: Asked) -> None:
        """A new query under an id."""
        order = self.visit.given.query + 1
        says = (asked.question, asked.why, asked.alternatives, asked.no)
        self.put_query(Query(name, order, phrase, exam, *says))

    def put_query(self, query: Query) -> None:
        """The query in the place of the one of its id, or as the newest."""
        was = self.visit.query(query.id)
        if was != query:
            self.add(facts.QuerySet(query.id, was, query))

    def settle(self, query: Query, state: QueryState, answer: str | None = None) -> None:
        """Close a query, or open it again."""
        self.put_query(replace(query, state=state, answer=answer))

    def settle_of(self, phrase: int, state: QueryState, answer: str | None = None) -> None:
        """Close all open queries that a phrase raised."""
        for query in asked_by(self.visit, phrase):
            self.settle(query, state, answer)

    def put_phrase(self, phrase: Phrase) -> None:
        """A phrase on record, as it is now."""
        was = self.visit.phrase(phrase.number)
        if was != phrase:
            self.add(facts.PhraseSet(phrase.number, was, phrase))

    def join(self, exam: int, into: int) -> None:
        """Two exams become one: all of ``exam`` goes to ``into``, and the empty one is dropped."""
        source, target = self.visit.exam(exam), self.visit.exam(into)
        if source is None or target is None or exam == into:
            return
        self.move((r.number for r in source.recorded), into)
        for query in [q for q in self.visit.queries if q.exam == exam]:
            self.put_query(replace(query, exam=into))
        for phrase in [p for p in self.visit.spoken.values() if p.exam == exam]:
            self.put_phrase(replace(phrase, exam=into))
        if self.visit.in_hand == exam:
            self.set_closed(into, False)
            self.go("in_hand", into)
        self.drop_exam(exam, into)


def animals_meant(visit: Visit, animal: Animal) -> tuple[KnownAnimal, ...]:
    """The animals of the herd list that a tag, or an electronic number, may mean.

    A tag that a person chose out of several (``listed``) is that of the list, as it stands there.
    """
    numbers, electronic = visit.numbers, animal.electronic_id
    if animal.tag is not None:
        chosen = numbers.written(animal.tag) if animal.listed else None
        if meant := (chosen,) if chosen is not None else numbers.named(animal.tag):
            read = tuple(known for known in meant if known.electronic_id == electronic)
            return read if electronic is not None and read else meant
    if electronic is None:
        return ()
    return tuple(known for known in visit.herd if known.electronic_id == electronic)[:1]


def known_animal(visit: Visit, animal: Animal) -> KnownAnimal | None:
    """What the herd list knows of an animal; None where it may be none, or more than one."""
    meant = animals_meant(visit, animal)
    return meant[0] if len(meant) == 1 else None


def standing_of(visit: Visit, phrase: int) -> tuple[RecordedFinding, ...]:
    """Findings of a phrase that were not taken back, in the order of speech."""
    placed = (p.recorded for p in visit.findings_of(phrase))
    return tuple(r for r in placed if r.state is not FindingState.WITHDRAWN)


def asked_by(visit: Visit, phrase: int) -> tuple[Query, ...]:
    """Open queries that a phrase raised."""
    return tuple(q for q in visit.queries_of(phrase) if q.state is QueryState.OPEN)


def record(draft: Draft, breath: Breath, finding: Finding, words: str) -> int:
    """Put a finding into the exam in hand; where there is none, one is opened without a tag."""
    if draft.visit.in_hand is None:
        draft.open_exam(breath.started_at)
    in_hand = draft.visit.in_hand
    assert in_hand is not None
    state = FindingState.ACCEPTED if breath.sure else FindingState.QUERIED
    return draft.record(finding, in_hand, state, words, breath.phrase)
