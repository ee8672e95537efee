"""What can happen in a visit: one frozen dataclass a kind of event.

Events are only ever added. What a spoken command did is not an event of its own: it follows from
the ``Heard`` or ``Typed`` that carried it. Times in a visit's audio are seconds from its start.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from dictation.recognition.protocol import Hypothesis, Outcome
from dictation.session.live_events import Joined, Listened, Spoke
from dictation.session.review_events import ExamAdded, Reheard, Rephrased, Undone
from dictation.session.taken_over import ExamTaken
from grammar.exam import KnownAnimal
from grammar.findings import Finding, Said, Unread

FINDINGS_AN_UTTERANCE = 100
"""A finding's number is its utterance's number times this, plus its place in the breath."""

INSERTED_FROM = 1_000_000
"""Utterance numbers of inserted phrases start here, plus the number of their event."""


@dataclass(frozen=True, slots=True)
class VisitOpened:
    """The first event of every journal. ``grammar_version`` is that of the day it was opened."""

    on_date: date
    farm: str | None = None
    herd_digest: str | None = None
    grammar_version: str = ""


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

    Comes before its file is written, so that a file without a ``Heard`` is known for what it is.
    """

    utterance: int
    at_s: float
    until_s: float
    recording: str | None = None


@dataclass(frozen=True, slots=True)
class Heard:
    """One utterance, whatever became of it. ``audio``: its file's name in the ``audio`` folder.

    ``said``: the best hypothesis as parsed then; ``alternatives``: readings with other values, most
    likely first; ``unread``: why the best hypothesis could not be read. ``doubts``: why it was not
    taken as sure when it was heard; empty means sure.
    """

    utterance: int
    audio: str | None
    at_s: float
    until_s: float
    outcome: Outcome
    engine: str = ""
    recording: str | None = None
    hypotheses: tuple[Hypothesis, ...] = ()
    free_text: str = ""
    free_log_score: float = 0.0
    confidence: float = 0.0
    reasons: tuple[str, ...] = ()
    said: tuple[Said, ...] = ()
    alternatives: tuple[tuple[Said, ...], ...] = ()
    unread: Unread | None = None
    doubts: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Typed:
    """A phrase that was typed instead of spoken; ``line``: where in a file of phrases, from 1."""

    utterance: int
    text: str
    said: tuple[Said, ...] = ()
    alternatives: tuple[tuple[Said, ...], ...] = ()
    unread: Unread | None = None
    doubts: tuple[str, ...] = ()
    recording: str | None = None
    line: int | None = None


@dataclass(frozen=True, slots=True)
class Corrected:
    """A person gave a finding another value. ``was`` is what the person saw when doing so.

    ``based_on``, here and below: number of the last event that the person had seen.
    """

    finding: int
    was: Finding
    now: Finding
    who: str
    why: str = ""
    based_on: int = 0


@dataclass(frozen=True, slots=True)
class Withdrawn:
    """A person took a finding back."""

    finding: int
    who: str
    why: str = ""
    based_on: int = 0


class Choice(StrEnum):
    """A person's answer to a query; ``TAKE`` goes with the number of the alternative."""

    TAKE = "take"
    NONE_OF_THEM = "none_of_them"
    SETTLED = "settled"


@dataclass(frozen=True, slots=True)
class QueryAnswered:
    """A person answered a query by key or click. ``alternative`` counts from 1.

    ``SETTLED`` closes a query that has no alternatives: it was looked at and needs no change.
    """

    query: str
    choice: Choice
    alternative: int | None = None
    who: str = ""
    based_on: int = 0


@dataclass(frozen=True, slots=True)
class Inserted:
    """A phrase that was missed, as typed by a person. ``of_utterance``: refused speech taken up."""

    exam: int
    text: str
    said: tuple[Said, ...]
    who: str
    why: str = ""
    of_utterance: int | None = None
    based_on: int = 0


@dataclass(frozen=True, slots=True)
class PhraseMoved:
    """All findings of an utterance belong to another exam."""

    utterance: int
    to_exam: int
    who: str
    why: str = ""
    based_on: int = 0


@dataclass(frozen=True, slots=True)
class Merged:
    """Two exams are one animal: the findings of ``exam`` go to ``into``."""

    exam: int
    into: int
    who: str
    why: str = ""
    based_on: int = 0


@dataclass(frozen=True, slots=True)
class Split:
    """From ``from_utterance`` on, an exam is another animal's."""

    exam: int
    from_utterance: int
    who: str
    why: str = ""
    based_on: int = 0


@dataclass(frozen=True, slots=True)
class Renumbered:
    """An exam carries another tag than was heard."""

    exam: int
    tag: str
    who: str
    why: str = ""
    based_on: int = 0


@dataclass(frozen=True, slots=True)
class Approved:
    """A person stands for an exam as it is, or for the whole visit (``exam`` is None)."""

    exam: int | None
    who: str
    based_on: int = 0


@dataclass(frozen=True, slots=True)
class VisitClosed:
    """The visit is over; the exam in hand is closed. It can be gone on with all the same."""

    why: str = ""


@dataclass(frozen=True, slots=True)
class Gap:
    """Nothing was listened to between two moments of the visit's audio."""

    from_s: float
    until_s: float
    why: str


Event = (
    VisitOpened
    | HerdListed
    | RecordingOpened
    | RecordingFinished
    | Captured
    | Heard
    | Typed
    | Corrected
    | Withdrawn
    | QueryAnswered
    | Inserted
    | PhraseMoved
    | Merged
    | Split
    | Renumbered
    | Approved
    | Rephrased
    | ExamAdded
    | Undone
    | Reheard
    | VisitClosed
    | Gap
    | Joined
    | Spoke
    | Listened
    | ExamTaken
)

Correction = (
    Corrected
    | Withdrawn
    | QueryAnswered
    | Inserted
    | PhraseMoved
    | Merged
    | Split
    | Renumbered
    | Approved
    | Rephrased
    | ExamAdded
    | Undone
    | Reheard
)
"""What a person does at the desk."""

KINDS: dict[str, type[Event]] = {
    "visit_opened": VisitOpened,
    "herd_listed": HerdListed,
    "recording_opened": RecordingOpened,
    "recording_finished": RecordingFinished,
    "captured": Captured,
    "heard": Heard,
    "typed": Typed,
    "corrected": Corrected,
    "withdrawn": Withdrawn,
    "query_answered": QueryAnswered,
    "inserted": Inserted,
    "phrase_moved": PhraseMoved,
    "merged": Merged,
    "split": Split,
    "renumbered": Renumbered,
    "approved": Approved,
    "rephrased": Rephrased,
    "exam_added": ExamAdded,
    "undone": Undone,
    "reheard": Reheard,
    "visit_closed": VisitClosed,
    "gap": Gap,
    "exam_taken": ExamTaken,
    "joined": Joined,
    "spoke": Spoke,
    "listened": Listened,
}
"""Name of a kind in the journal. A name is never given to another kind."""

KIND_NAMES: dict[type[Event], str] = {kind: name for name, kind in KINDS.items()}


@dataclass(frozen=True, slots=True)
class Entry:
    """An event in its place: ``seq`` counts from 1 without gaps, ``at`` is UTC ISO 8601."""

    seq: int
    at: str
    event: Event
