"""The facts of a journal: what changed, in numbers and values.

There are two sorts. The first simply happened (a recording began, a herd list came). The second
sets one thing, and says what it ``was`` and what it is ``now``; None where it was not there, or is
not there any more. Set the other way round, it is taken back. ``WORDS`` names each kind for ever:
a word is never given to another kind, and a field that comes later has None or () as its default,
so that old facts are written as they were read.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date

from dictation.visit.parts import Approval, Frame, Name, Phrase, Placed, Query, QueryState
from grammar.exam import FindingState, KnownAnimal


@dataclass(frozen=True, slots=True)
class VisitOpened:
    """The first fact of every journal."""

    on_date: date
    farm: str | None = None


@dataclass(frozen=True, slots=True)
class HerdListed:
    """A herd list was taken up. Kept whole, so that the visit can be read without the file."""

    digest: str
    source: str
    animals: tuple[KnownAnimal, ...]


@dataclass(frozen=True, slots=True)
class RecordingOpened:
    """A recording, or a file of typed phrases, began to be heard.

    ``digest``: SHA-256 of its bytes. ``offset_s``: where it starts in the visit's audio.
    ``started_at``: local ISO time of its first sample where known.
    """

    digest: str
    name: str
    offset_s: float = 0.0
    started_at: str | None = None


@dataclass(frozen=True, slots=True)
class RecordingFinished:
    """A recording was heard to its end, ``until_s`` in the visit's audio."""

    digest: str
    until_s: float


@dataclass(frozen=True, slots=True)
class Captured:
    """An utterance was cut out of the sound, and is about to be kept and heard.

    Comes before its file is written, so that a file without a phrase is known for what it is.
    """

    phrase: int
    at_s: float
    until_s: float
    recording: str | None = None


@dataclass(frozen=True, slots=True)
class Gap:
    """Nothing was listened to between two moments of the visit's audio."""

    from_s: float
    until_s: float
    why: str


@dataclass(frozen=True, slots=True)
class Listened:
    """All that was spoken until then has been dealt with; after a crash only later sound counts."""

    until_s: float


@dataclass(frozen=True, slots=True)
class Spoke:
    """The tool speaks itself from ``from_s`` until ``until_s``.

    Written before it begins, so that its own words are never taken for the speaker's.
    """

    text: str
    from_s: float
    until_s: float


@dataclass(frozen=True, slots=True)
class PhraseSet:
    """A phrase came on record, or something about it changed."""

    number: int
    was: Phrase | None
    now: Phrase | None


@dataclass(frozen=True, slots=True)
class ExamSet:
    """An exam was opened, or dropped because nothing is in it. ``into``: the exam it went into.

    ``last``: the highest number of an exam from then on, where one that was opened by mistake of
    hearing gives its number back.
    """

    number: int
    was: Frame | None
    now: Frame | None
    into: int | None = None
    last: int | None = None


@dataclass(frozen=True, slots=True)
class ExamNamed:
    """An exam carries another tag, or the herd list knows her otherwise."""

    exam: int
    was: Name
    now: Name


@dataclass(frozen=True, slots=True)
class ExamClosed:
    """An exam was closed, or opened again."""

    exam: int
    was: bool
    now: bool


@dataclass(frozen=True, slots=True)
class FindingSet:
    """A finding was recorded, changed, moved or withdrawn."""

    number: int
    was: Placed | None
    now: Placed | None


@dataclass(frozen=True, slots=True)
class QuerySet:
    """Something was asked, answered, or fell away."""

    id: str
    was: Query | None
    now: Query | None


@dataclass(frozen=True, slots=True)
class ApprovalSet:
    """Somebody stands for an exam, or for the visit (``exam`` is 0)."""

    exam: int
    was: Approval | None
    now: Approval | None


@dataclass(frozen=True, slots=True)
class GoingSet:
    """How the visit goes on changed: one slot of ``Going``, by its name."""

    slot: str
    was: bool | int | str | None
    now: bool | int | str | None


@dataclass(frozen=True, slots=True)
class TakenBack:
    """Entry number ``entry`` was taken back by entry ``by``, or stands again (0: it stands)."""

    entry: int
    was: int
    now: int


Happened = (
    VisitOpened
    | HerdListed
    | RecordingOpened
    | RecordingFinished
    | Captured
    | Gap
    | Listened
    | Spoke
)
Setting = (
    PhraseSet
    | ExamSet
    | ExamNamed
    | ExamClosed
    | FindingSet
    | QuerySet
    | ApprovalSet
    | GoingSet
    | TakenBack
)
Fact = Happened | Setting

WORDS: dict[type[Fact], str] = {
    VisitOpened: "visit_opened",
    HerdListed: "herd_listed",
    RecordingOpened: "recording_opened",
    RecordingFinished: "recording_finished",
    Captured: "captured",
    Gap: "gap",
    Listened: "listened",
    Spoke: "spoke",
    PhraseSet: "phrase",
    ExamSet: "exam",
    ExamNamed: "exam_named",
    ExamClosed: "exam_closed",
    FindingSet: "finding",
    QuerySet: "question",
    ApprovalSet: "approval",
    GoingSet: "going",
    TakenBack: "taken_back",
}
"""The word of each kind in the journal."""


def reverse(fact: Setting) -> Setting:
    """The fact that puts things back as they were before this one."""
    if isinstance(fact, ExamSet):
        return replace(fact, was=fact.now, now=fact.was, into=None)
    return replace(fact, was=fact.now, now=fact.was)  # type: ignore[arg-type]


def withdrawal(fact: Setting) -> Setting:
    """As ``reverse``, but what came on record by this fact stays there, as taken back."""
    if fact.was is None and fact.now is not None:
        gone: Phrase | Placed | Query | None = None
        match fact.now:
            case Placed():
                recorded = replace(fact.now.recorded, state=FindingState.WITHDRAWN)
                gone = replace(fact.now, recorded=recorded)
            case Query():
                gone = replace(fact.now, state=QueryState.LAPSED, answer=None)
            case Phrase():
                gone = replace(fact.now, taken_back=True)
        if gone is not None:
            return replace(fact, was=fact.now, now=gone)  # type: ignore[arg-type]
    return reverse(fact)
