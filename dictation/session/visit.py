"""What a visit is after its events: exams, utterances, queries. Frozen; ``fold`` makes it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from dictation.session.effects import Alternative, Effect
from dictation.session.events import Captured, Event
from grammar.exam import Exam, KnownAnimal, RecordedFinding
from grammar.findings import Finding


class Fate(StrEnum):
    """What became of an utterance."""

    RECORDED = "recorded"
    COMMAND = "command"
    ASKED = "asked"
    NOTED = "noted"
    REFUSED = "refused"
    PAUSED = "paused"
    SILENT = "silent"
    JOINED = "joined"


class QueryState(StrEnum):
    """Whether a query still waits. LAPSED: what it asked about was taken back."""

    OPEN = "open"
    ANSWERED = "answered"
    LAPSED = "lapsed"


@dataclass(frozen=True, slots=True)
class Query:
    """Something that is asked of the speaker or, later, of the recorder.

    ``id``: "u" and the utterance that raised it. ``alternatives`` are numbered from 1. A spoken
    'yes' answers only a query with one alternative. ``no``: what the answer 'no' does.
    """

    id: str
    utterance: int
    exam: int | None
    question: str
    why: str
    alternatives: tuple[Alternative, ...] = ()
    no: Effect | None = None
    state: QueryState = QueryState.OPEN
    answer: str | None = None


@dataclass(frozen=True, slots=True)
class Touch:
    """A finding before and after an utterance; ``before`` is None where it was made by it."""

    number: int
    before: RecordedFinding | None
    after: RecordedFinding


@dataclass(frozen=True, slots=True)
class Utterance:
    """One stretch of speech, or one typed phrase, and what it did.

    ``exam``: the exam in hand once it was dealt with, or None. ``closed``, ``opened``: the exam it
    closed and the one it opened; ``implied_next``: because another tag was said, without 'next'.
    ``asked``, ``answered``: ids of the queries that it raised and that it settled.
    """

    number: int
    text: str
    fate: Fate
    exam: int | None = None
    at_s: float | None = None
    until_s: float | None = None
    audio: str | None = None
    confidence: float = 1.0
    doubts: tuple[str, ...] = ()
    touched: tuple[Touch, ...] = ()
    asked: tuple[str, ...] = ()
    answered: tuple[str, ...] = ()
    closed: int | None = None
    opened: int | None = None
    implied_next: bool = False
    taken_back: bool = False

    @property
    def can_be_taken_back(self) -> bool:
        """Whether it did anything that 'scratch that' could undo, and still stands."""
        return not self.taken_back and bool(self.touched or self.asked or self.answered)


@dataclass(frozen=True, slots=True)
class Change:
    """A finding got another value or exam, or was withdrawn: by whom, and why.

    ``was`` or ``now`` is None where it was not there before or after.
    """

    finding: int
    was: Finding | None
    now: Finding | None
    who: str
    why: str
    at: str


Place = tuple[int, RecordedFinding]
"""A finding and the number of the exam that it is in."""


@dataclass(frozen=True, slots=True)
class Deed:
    """What one event of a person changed: each thing before and after, None where it was not there.

    ``seq``, ``at``: of the event. ``findings``: by number. ``exams``: those added or dropped, as
    they were or became. ``in_hand``, ``approved``, ``visit_approved``: before and after.
    """

    seq: int
    at: str
    who: str
    why: str
    event: Event
    findings: tuple[tuple[int, Place | None, Place | None], ...] = ()
    queries: tuple[tuple[str, Query | None, Query | None], ...] = ()
    exams: tuple[tuple[int, Exam | None, Exam | None], ...] = ()
    utterances: tuple[tuple[int, int | None, int | None], ...] = ()
    in_hand: tuple[int | None, int | None] = (None, None)
    approved: tuple[tuple[int, ...], tuple[int, ...]] = ((), ())
    visit_approved: tuple[bool, bool] = (False, False)
    undone: bool = False


@dataclass(frozen=True, slots=True)
class RecordingHeard:
    """A recording of the visit, and how far it has been heard.

    ``heard_until_s``: end of its last utterance, in seconds of the visit's audio; ``lines_read``:
    of a file of phrases.
    """

    digest: str
    name: str
    offset_s: float
    started_at: str | None = None
    heard_until_s: float = 0.0
    lines_read: int = 0
    finished: bool = False


@dataclass(frozen=True, slots=True)
class Visit:
    """A trip to a farm as its events have left it so far.

    ``in_hand``: number of the exam that speech goes to, None between animals. ``last_seq``: the
    last event folded. ``last_utterance``, ``last_exam``: highest numbers given out; a number is
    never given twice. ``captured``: utterances cut out and not heard yet. ``reply``: a short answer
    to the last phrase, for the screen and the voice. ``recent``: the visit before each of the last
    phrases, by utterance, as long as they may be joined to what follows.
    """

    on_date: date | None = None
    farm: str | None = None
    herd: tuple[KnownAnimal, ...] = ()
    herd_digest: str | None = None
    herd_source: str | None = None
    exams: tuple[Exam, ...] = ()
    in_hand: int | None = None
    utterances: tuple[Utterance, ...] = ()
    queries: tuple[Query, ...] = ()
    changes: tuple[Change, ...] = ()
    deeds: tuple[Deed, ...] = ()
    recordings: tuple[RecordingHeard, ...] = ()
    captured: tuple[Captured, ...] = ()
    approved: tuple[int, ...] = ()
    visit_approved: bool = False
    paused: bool = False
    note_awaited: bool = False
    closed: bool = False
    reply: str = ""
    recent: tuple[tuple[int, Visit], ...] = ()
    last_seq: int = 0
    last_utterance: int = 0
    last_exam: int = 0
    audio_until_s: float = 0.0

    def exam(self, number: int | None) -> Exam | None:
        """The exam of that number, if there is one."""
        # From the end: the exam in hand is nearly always the last.
        for exam in reversed(self.exams):
            if exam.number == number:
                return exam
        return None

    @property
    def exam_in_hand(self) -> Exam | None:
        """The exam that speech goes to."""
        return self.exam(self.in_hand)

    def exam_of(self, finding: int) -> Exam | None:
        """The exam that a finding is in."""
        for exam in reversed(self.exams):
            for recorded in exam.recorded:
                if recorded.number == finding:
                    return exam
        return None

    def recorded(self, finding: int) -> RecordedFinding | None:
        """The finding of that number, if there is one."""
        exam = self.exam_of(finding)
        if exam is None:
            return None
        return next(r for r in exam.recorded if r.number == finding)

    def query(self, query_id: str) -> Query | None:
        """The query of that id, if there is one."""
        return next((q for q in self.queries if q.id == query_id), None)

    def utterance(self, number: int) -> Utterance | None:
        """The utterance of that number, if there is one."""
        return next((u for u in reversed(self.utterances) if u.number == number), None)

    @property
    def open_queries(self) -> tuple[Query, ...]:
        """All queries that wait for an answer, oldest first."""
        return tuple(q for q in self.queries if q.state is QueryState.OPEN)

    @property
    def asked(self) -> Query | None:
        """The query that a spoken answer goes to: the oldest of the exam in hand.

        Never one of an earlier animal: a 'yes' meant for this one must not settle that one. One
        that offers answers comes before one that only a repeated phrase can settle.
        """
        here = [q for q in self.open_queries if q.exam == self.in_hand]
        offering = [q for q in here if q.alternatives]
        return next(iter(offering or here), None)
