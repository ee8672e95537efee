"""What of a visit's entries stays where its words are forgotten. Pure: rows in, rows out.

A fact that says words says ``GONE`` instead, the same everywhere, so that each still follows from
the one before it. What was recorded stays, but a note that nobody approved: it is nothing but
words. What somebody approved stays as it was.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Any

from dictation.visit import facts
from dictation.visit.chain import Row
from dictation.visit.inputs import PEOPLES
from dictation.visit.parts import (
    Alternative,
    Effect,
    Fate,
    Frame,
    Instead,
    Name,
    Phrase,
    Placed,
    Query,
    SetTo,
    TakeBack,
)
from dictation.visit.state import Act, Visit, exam_name
from dictation.visit.words import FORGOTTEN, facts_text
from grammar.exam import RecordedFinding
from grammar.findings import Note

GONE = "(forgotten)"
TALK = frozenset({Fate.REFUSED, Fate.PAUSED})
"""What became of phrases that were not for the record."""


def talk_of(visit: Visit) -> tuple[int, ...]:
    """Phrases that were said while paused, or refused, and not forgotten yet."""
    return tuple(p.number for p in visit.phrases if p.fate in TALK and p.text != GONE)


def with_joined(visit: Visit, number: int) -> tuple[int, ...]:
    """A phrase, with those whose sound is its own too: two that were joined, and what they made."""
    found = {number}
    for act in visit.acts.values():
        joined = {fact.phrase for fact in act.of(facts.Captured)} if act.kind == "joined" else set()
        parts = {f.number for f in act.of(facts.PhraseSet) if f.now and f.now.fate is Fate.JOINED}
        if found & (joined | parts):
            found |= joined | parts
    return tuple(sorted(found))


@dataclass(frozen=True)
class Leaving:
    """The phrases whose words go, and what is known by them.

    ``said``: their texts. ``findings``: numbers of what they made or changed; ``kept``: of what
    somebody approved. ``replies``: what was answered to them, and asked about them.
    """

    phrases: frozenset[int]
    said: frozenset[str]
    findings: frozenset[int]
    kept: frozenset[int]
    replies: frozenset[str]

    @classmethod
    def of(cls, visit: Visit, phrases: Iterable[int]) -> Leaving:
        """Of these phrases of a visit."""
        numbers = frozenset(phrases)
        theirs = [act for act in visit.acts.values() if act.phrase in numbers]
        texts = {visit.spoken[n].text for n in numbers if n in visit.spoken}
        set_by_them = [fact for act in theirs for fact in act.of(facts.FindingSet)]
        notes = {f.now.recorded.finding for f in set_by_them if f.now is not None}
        texts |= {note.text for note in notes if isinstance(note, Note)}
        going = [fact for act in theirs for fact in act.of(facts.GoingSet)]
        asked = {query.question for query in visit.queries if query.phrase in numbers}
        approved = {exam for exam in visit.approvals if visit.is_approved(exam)}
        places = visit.index.places.items()
        return cls(
            numbers,
            frozenset(text for text in texts if text and text != GONE),
            frozenset(fact.number for fact in set_by_them),
            frozenset(number for number, exam in places if exam in approved),
            frozenset(str(f.now) for f in going if f.slot == "reply" and f.now) | asked,
        )

    def left(self, row: Row, act: Act) -> Row | None:
        """What stays of an entry; None where all of it does."""
        kept = tuple([self._fact(fact) for fact in act.facts])
        changed = kept != act.facts
        theirs = act.phrase in self.phrases or (changed and act.kind in PEOPLES)
        if not (changed or theirs):
            return None
        if not theirs:
            return replace(row, facts=facts_text(kept))
        why = row.why if act.kind in PEOPLES and not self._says(row.why) else ""
        return replace(row, why=why, evidence=FORGOTTEN, facts=facts_text(kept))

    def _fact(self, fact: facts.Fact) -> facts.Fact:
        match fact:
            case facts.PhraseSet() if fact.number in self.phrases:
                return _both(fact, self.phrase)
            case facts.FindingSet():
                return _both(fact, self._placed)
            case facts.QuerySet():
                return _both(fact, self._query)
            case facts.GoingSet(slot="reply"):
                return _both(fact, lambda reply: "" if self._is_reply(reply) else reply)
            case facts.Spoke() if self._is_reply(fact.text):
                return replace(fact, text="")
            case _:
                return fact

    @staticmethod
    def phrase(phrase: Phrase) -> Phrase:
        """The phrase without its words."""
        doubts = (GONE,) if phrase.doubts else ()
        return replace(phrase, text=GONE, doubts=doubts, by_context=())

    def _placed(self, placed: Placed) -> Placed:
        recorded = placed.recorded
        made = recorded.phrase in self.phrases
        if made or (recorded.number in self.findings and self._says(recorded.heard)):
            recorded = replace(recorded, heard=GONE)
        note = recorded.finding
        theirs = made or (
            recorded.number in self.findings and self._says(getattr(note, "text", ""))
        )
        if isinstance(note, Note) and theirs and recorded.number not in self.kept:
            recorded = replace(recorded, finding=Note(GONE))
        return placed if recorded == placed.recorded else replace(placed, recorded=recorded)

    def _query(self, query: Query) -> Query:
        effects = [*(each.effect for each in query.alternatives), query.no]
        taken_back = {each.phrase for each in effects if isinstance(each, TakeBack)}
        if not self.phrases & {query.phrase, *taken_back}:
            return query
        alternatives = tuple(Alternative(GONE, _effect(a.effect)) for a in query.alternatives)
        return replace(
            query,
            question=GONE,
            why=GONE,
            alternatives=alternatives,
            no=None if query.no is None else _effect(query.no),
            answer=None if query.answer is None else GONE,
        )

    def _is_reply(self, text: object) -> bool:
        if not isinstance(text, str):
            return False
        return any(reply in text for reply in self.replies) or self._says(text)

    def _says(self, text: str) -> bool:
        """Whether it says what they said. A single word says too little to be known by it."""
        return any(said == text or (" " in said and said in text) for said in self.said)


def _both(fact: Any, leave: Any) -> facts.Fact:
    """The fact with what was and what is as ``leave`` makes it."""
    was, now = (None if each is None else leave(each) for each in (fact.was, fact.now))
    made: facts.Fact = replace(fact, was=was, now=now)
    return made


def _effect(effect: Effect) -> Effect:
    """What an answer does, without the words of notes."""
    match effect:
        case Instead(said):
            return Instead(tuple(replace(each, words=GONE, what=_what(each.what)) for each in said))
        case SetTo(changes, withdraw):
            return SetTo(tuple((number, _what(what)) for number, what in changes), withdraw)
        case _:
            return effect


def _what(what: Any) -> Any:
    return Note(GONE) if isinstance(what, Note) else what


def emptied(row: Row) -> Row:
    """An entry of which nothing stays but that it was there."""
    return replace(row, why="", evidence=FORGOTTEN, facts="[]")


def approved_alone(visit: Visit) -> Iterator[facts.Fact]:
    """The facts that make the approved exams of a visit in an otherwise empty one, without words.

    What an exam is about, how it was reckoned, its open questions and who approved it stay.
    """
    exams = [exam for exam in visit.exams if exam.approved is not None]
    listed = tuple(exam.known for exam in exams if exam.known is not None)
    if listed:
        yield facts.HerdListed(GONE, GONE, tuple(dict.fromkeys(listed)))
    before: int | None = None
    for exam in exams:
        yield facts.ExamSet(exam.number, None, Frame(before, exam.started_at))
        before = exam.number
        if exam.tag is not None:
            yield facts.ExamNamed(exam.number, Name(), exam_name(exam))
        for recorded in exam.standing:
            yield facts.FindingSet(recorded.number, None, Placed(exam.number, _plain(recorded)))
        for query in visit.open_of(exam.number):
            yield facts.QuerySet(query.id, None, query)
        if exam.closed:
            yield facts.ExamClosed(exam.number, False, True)
        yield facts.ApprovalSet(exam.number, None, visit.approvals[exam.number])
    if visit.visit_approved:
        yield facts.ApprovalSet(0, None, visit.approvals[0])


def _plain(recorded: RecordedFinding) -> RecordedFinding:
    return replace(recorded, heard=GONE, at_s=None, until_s=None, phrase=None)
