"""What a visit is after its facts: exams, phrases, questions. Frozen; ``apply`` makes it."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from typing import Any, TypeVar

from immutables import Map

from dictation.visit import facts
from dictation.visit.facts import Captured, Fact
from dictation.visit.herd_numbers import HerdNumbers
from dictation.visit.parts import PASSED_OVER, Approval, Name, Phrase, Placed, Query
from grammar.exam import Exam, KnownAnimal, RecordedFinding

OneKind = TypeVar("OneKind", bound=Fact)


@dataclass(frozen=True, slots=True)
class Act:
    """One entry of the journal as the visit remembers it: who did what, and the facts it led to.

    ``seq``, ``at``: of the entry. ``kind``: fixed word of its input. ``phrase``: the phrase that it
    is or is about.
    """

    seq: int
    at: str
    kind: str
    who: str
    why: str
    phrase: int | None
    facts: tuple[Fact, ...]

    def of(self, kind: type[OneKind]) -> tuple[OneKind, ...]:
        """Its facts of a kind."""
        return tuple(fact for fact in self.facts if isinstance(fact, kind))


@dataclass(frozen=True, slots=True)
class RecordingHeard:
    """A recording of the visit, and how far it has been heard.

    ``heard_until_s``: end of its last phrase, in seconds of the visit's audio; ``lines_read``: of a
    file of phrases.
    """

    digest: str
    name: str
    offset_s: float
    started_at: str | None = None
    heard_until_s: float = 0.0
    lines_read: int = 0
    finished: bool = False


@dataclass(frozen=True, slots=True)
class Herd:
    """The herd list that the visit was given."""

    digest: str
    source: str
    animals: tuple[KnownAnimal, ...]
    numbers: HerdNumbers = field(compare=False)


@dataclass(frozen=True)
class Going:
    """How the visit goes on: slots that facts set one at a time.

    ``in_hand``: number of the exam that speech goes to, None between animals. ``reply``: a short
    answer to the last phrase, for the screen and the voice.
    """

    in_hand: int | None = None
    paused: bool = False
    note_awaited: bool = False
    closed: bool = False
    reply: str = ""


@dataclass(frozen=True)
class Given:
    """Numbers given out so far; none is given twice. ``seq``: the last entry folded."""

    seq: int = 0
    phrase: int = 0
    exam: int = 0
    finding: int = 0
    query: int = 0


_NONE: Map[Any, Any] = Map()
_NO_NUMBERS = HerdNumbers()

State = TypeVar("State", "Going", "Given", "Indexed", "Visit")


def changed(state: State, **fields: Any) -> State:
    """As ``dataclasses.replace``, a tenth of its time: a long visit is folded from 40,000 facts."""
    other = object.__new__(type(state))
    other.__dict__.update(state.__dict__, **fields)
    return other


@dataclass(frozen=True)
class Indexed:
    """What is looked up by number, so that no phrase costs more in a long visit than in a short.

    ``places``: exam of a finding. ``made``, ``raised``: findings and queries of a phrase.
    ``entries``: the entry that took a phrase. ``asked``: open queries of an exam, oldest first.
    ``tags``: exams of a tag. ``taken_back``: by which entry another was.
    """

    places: Map[int, int] = _NONE
    made: Map[int, tuple[int, ...]] = _NONE
    entries: Map[int, int] = _NONE
    asked: Map[int | None, tuple[str, ...]] = _NONE
    raised: Map[int, tuple[str, ...]] = _NONE
    tags: Map[str, tuple[int, ...]] = _NONE
    taken_back: Map[int, int] = _NONE


def exam_name(exam: Exam) -> Name:
    """The tag of an exam, and under which the herd list knows her."""
    return Name(exam.tag, None if exam.known is None else exam.known.tag)


@dataclass(frozen=True)
class Visit:
    """A trip to a farm as its facts have left it so far.

    ``captured``: utterances cut out and not heard yet. ``acts``: what each entry did, by its
    number. ``approvals``: by exam, 0 for the whole visit.
    """

    on_date: date | None = None
    farm: str | None = None
    herd_list: Herd | None = None
    exams: tuple[Exam, ...] = ()
    spoken: Map[int, Phrase] = _NONE
    all_queries: Map[str, Query] = _NONE
    acts: Map[int, Act] = _NONE
    recordings: tuple[RecordingHeard, ...] = ()
    captured: tuple[Captured, ...] = ()
    approvals: Map[int, Approval] = _NONE
    going: Going = Going()
    given: Given = Given()
    index: Indexed = Indexed()
    audio_until_s: float = 0.0

    @property
    def last_seq(self) -> int:
        """Number of the last entry of the journal that is in this."""
        return self.given.seq

    @property
    def in_hand(self) -> int | None:
        """Number of the exam that speech goes to, None between animals."""
        return self.going.in_hand

    @property
    def paused(self) -> bool:
        """Whether nothing is taken up until 'resume'."""
        return self.going.paused

    @property
    def closed(self) -> bool:
        """Whether the visit is over."""
        return self.going.closed

    @property
    def reply(self) -> str:
        """A short answer to the last phrase."""
        return self.going.reply

    @property
    def herd(self) -> tuple[KnownAnimal, ...]:
        """The animals of the herd list."""
        return () if self.herd_list is None else self.herd_list.animals

    @property
    def numbers(self) -> HerdNumbers:
        """The numbers of the herd list's animals."""
        return _NO_NUMBERS if self.herd_list is None else self.herd_list.numbers

    def exam(self, number: int | None) -> Exam | None:
        """The exam of that number, if there is one."""
        if number is None:
            return None
        # From the end: the exam in hand is nearly always the last.
        for exam in reversed(self.exams):
            if exam.number == number:
                return exam
        return None

    @property
    def exam_in_hand(self) -> Exam | None:
        """The exam that speech goes to."""
        return self.exam(self.in_hand)

    def placed(self, finding: int) -> Placed | None:
        """The finding of that number and its exam, if there is one."""
        exam = self.exam(self.index.places.get(finding))
        if exam is None:
            return None
        return Placed(exam.number, next(r for r in exam.recorded if r.number == finding))

    def recorded(self, finding: int) -> RecordedFinding | None:
        """The finding of that number, if there is one."""
        placed = self.placed(finding)
        return None if placed is None else placed.recorded

    def findings_of(self, phrase: int) -> tuple[Placed, ...]:
        """Findings that a phrase made, the withdrawn ones among them, in the order of speech."""
        numbers = self.index.made.get(phrase, ())
        return tuple(p for number in numbers if (p := self.placed(number)) is not None)

    @property
    def phrases(self) -> tuple[Phrase, ...]:
        """All phrases in the order of speech."""
        return tuple(self.spoken[number] for number in sorted(self.spoken))

    def phrase(self, number: int | None) -> Phrase | None:
        """The phrase of that number, if there is one."""
        return None if number is None else self.spoken.get(number)

    @property
    def last_phrase(self) -> Phrase | None:
        """The last phrase of the speaker; what is cut out and not heard yet is none."""
        numbers = range(self.given.phrase, 0, -1)
        return next((self.spoken[number] for number in numbers if number in self.spoken), None)

    def act_of(self, phrase: int) -> Act | None:
        """The entry that took a phrase."""
        entry = self.index.entries.get(phrase)
        return None if entry is None else self.acts.get(entry)

    def query(self, query_id: str) -> Query | None:
        """The query of that id, if there is one."""
        return self.all_queries.get(query_id)

    def queries_of(self, phrase: int) -> tuple[Query, ...]:
        """The queries that a phrase raised."""
        return tuple(self.all_queries[i] for i in self.index.raised.get(phrase, ()))

    @property
    def queries(self) -> tuple[Query, ...]:
        """All queries, oldest first."""
        return tuple(sorted(self.all_queries.values(), key=lambda q: q.order))

    @property
    def open_queries(self) -> tuple[Query, ...]:
        """All queries that wait for an answer, oldest first."""
        waiting = (self.all_queries[i] for ids in self.index.asked.values() for i in ids)
        return tuple(sorted(waiting, key=lambda q: q.order))

    def open_of(self, exam: int | None) -> tuple[Query, ...]:
        """The queries of an exam that wait for an answer, oldest first."""
        return tuple(self.all_queries[i] for i in self.index.asked.get(exam, ()))

    @property
    def asked(self) -> Query | None:
        """The one question that is live: shown, asked aloud, met by every answer.

        The newest of the exam in hand that was not left for the recorder. Never one of an earlier
        animal: a 'yes' meant for this one must not settle that one. One that offers nothing can
        only be met by saying it again: it is live until anything else was said.
        """
        asked = (q for q in reversed(self.open_of(self.in_hand)) if q.answer is None)
        return next((q for q in asked if q.alternatives or self.last_said <= q.phrase), None)

    @property
    def last_said(self) -> int:
        """Number of the last phrase that came to anything; 0 where there is none."""
        spoken = (self.spoken.get(number) for number in range(self.given.phrase, 0, -1))
        return next((p.number for p in spoken if p and p.fate not in PASSED_OVER), 0)

    def approval(self, exam: int) -> Approval | None:
        """What somebody stood for of an exam, whether or not it is still so; None: nobody did."""
        return self.approvals.get(exam)

    def is_approved(self, exam: int) -> bool:
        """Whether somebody stands for an exam just as it is."""
        found = self.exam(exam)
        return found is not None and found.approved is not None

    @property
    def visit_approved(self) -> bool:
        """Whether somebody stands for the whole visit just as it is."""
        return 0 in self.approvals and all(exam.approved is not None for exam in self.exams)

    def now(self, fact: facts.Setting) -> object:  # noqa: PLR0911 - one a kind
        """What a fact set, as it is now."""
        match fact:
            case facts.GoingSet():
                return getattr(self.going, fact.slot)
            case facts.PhraseSet():
                return self.phrase(fact.number)
            case facts.FindingSet():
                return self.placed(fact.number)
            case facts.QuerySet():
                return self.query(fact.id)
            case facts.ApprovalSet():
                return self.approval(fact.exam)
            case facts.TakenBack():
                return self.index.taken_back.get(fact.entry, 0)
            case facts.ExamNamed() | facts.ExamClosed():
                exam = self.exam(fact.exam)
                named = isinstance(fact, facts.ExamNamed)
                return None if exam is None else exam_name(exam) if named else exam.closed
            case _:
                return None
