"""What facts are about: phrases, questions, findings in their exams, approvals. All frozen."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from dictation.visit.effects import Alternative, Effect
from grammar.exam import Approved, RecordedFinding


class Fate(StrEnum):
    """What became of a phrase."""

    RECORDED = "recorded"
    COMMAND = "command"
    ASKED = "asked"
    NOTED = "noted"
    REFUSED = "refused"
    PAUSED = "paused"
    SILENT = "silent"
    JOINED = "joined"
    INSERTED = "inserted"


class QueryState(StrEnum):
    """Whether a query still waits. LAPSED: what it asked about was taken back."""

    OPEN = "open"
    ANSWERED = "answered"
    LAPSED = "lapsed"


@dataclass(frozen=True, slots=True)
class Query:
    """Something that is asked of the speaker or, later, of the recorder.

    ``id``: "u" and the number of the phrase that raised it; ``order``: how many were raised before.
    ``alternatives`` are numbered from 1. A spoken 'yes' answers only a query with one alternative.
    ``no``: what the answer 'no' does.
    """

    id: str
    order: int
    phrase: int
    exam: int | None
    question: str
    why: str
    alternatives: tuple[Alternative, ...] = ()
    no: Effect | None = None
    state: QueryState = QueryState.OPEN
    answer: str | None = None


TYPED_IN_FROM = 1_000_000
"""Phrases that are typed in at the desk are numbered from here, by the number of their entry, so
that they never take the number of a sound that is being cut out meanwhile."""


@dataclass(frozen=True, slots=True)
class Phrase:
    """One stretch of speech, or one typed phrase.

    ``exam``: the exam in hand once it was dealt with, or None. ``line``: where in a file of typed
    phrases, from 1.
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
    recording: str | None = None
    line: int | None = None
    taken_back: bool = False


@dataclass(frozen=True, slots=True)
class Placed:
    """A finding and the number of the exam that it is in."""

    exam: int
    recorded: RecordedFinding


@dataclass(frozen=True, slots=True)
class Frame:
    """What an exam is without its findings.

    ``after``: the exam it stands behind in the order of the visit, None for the first. ``implied``:
    because another tag was said, without 'next'.
    """

    after: int | None = None
    started_at: str | None = None
    implied: bool = False


@dataclass(frozen=True, slots=True)
class Name:
    """The tag of an exam, and under which tag the herd list knows the animal."""

    tag: str | None = None
    listed_as: str | None = None


@dataclass(frozen=True, slots=True)
class Approval:
    """A person stands for what was seen.

    ``seen``: number of the last entry before it. ``digest``: of the exam's findings, tag and open
    questions, by exam; ``stamp``: figures and flags as they were.
    """

    seen: int
    digest: str
    stamp: Approved
