"""What facts are about: phrases, questions and what answers do, findings, approvals. All frozen."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum
from typing import Any, TypeVar, dataclass_transform

from grammar.exam import Approved, RecordedFinding
from grammar.findings import Finding, Said

Kind = TypeVar("Kind")


@dataclass_transform(frozen_default=True)
def worded(words: dict[Any, str], word: str) -> Callable[[type[Kind]], type[Kind]]:
    """A frozen dataclass and its word in the journal, which is never given to another kind."""

    def make(kind: type[Kind]) -> type[Kind]:
        made = dataclass(frozen=True, slots=True)(kind)
        words[made] = word
        return made

    return make


EFFECTS: dict[Any, str] = {}
"""What taking an answer does, by its word."""


@worded(EFFECTS, "keep")
class Keep:
    """Take the findings of the phrase as they were recorded."""


@worded(EFFECTS, "drop")
class Drop:
    """Withdraw the findings of the phrase."""


@worded(EFFECTS, "instead")
class Instead:
    """Withdraw the findings of the phrase and do what is said here, as sure."""

    said: tuple[Said, ...]


@worded(EFFECTS, "set_to")
class SetTo:
    """Give findings other values: pairs of a finding's number and its new value."""

    changes: tuple[tuple[int, Finding], ...]
    withdraw: tuple[int, ...] = ()


@worded(EFFECTS, "take_back")
class TakeBack:
    """Take an earlier phrase back."""

    phrase: int


@worded(EFFECTS, "join_back")
class JoinBack:
    """The exam was opened by mistake: its findings belong to the exam before it."""

    exam: int
    into: int


Effect = Keep | Drop | Instead | SetTo | TakeBack | JoinBack


@dataclass(frozen=True, slots=True)
class Alternative:
    """One answer to a query: its words, and what taking it does."""

    words: str
    effect: Effect


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


PASSED_OVER = (Fate.REFUSED, Fate.SILENT, Fate.JOINED)
"""What lies between a question and its answer without being one."""


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
    ``no``: what the answer 'no' does. ``answer``: in whose words it was settled; of an open one,
    those by which the speaker left it for the recorder. ``former``: the exam before, where it is
    asked whether this is another animal, and what was said since waits in an exam of its own.
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
    former: int | None = None

    @property
    def first_said(self) -> tuple[Said, ...]:
        """What would be done if the first answer is taken, where that waits for it."""
        effect = self.alternatives[0].effect if self.alternatives else None
        return effect.said if isinstance(effect, Instead) else ()


TYPED_IN_FROM = 1_000_000
"""Phrases that are typed in at the desk are numbered from here, by the number of their entry, so
that they never take the number of a sound that is being cut out meanwhile."""


@dataclass(frozen=True, slots=True)
class Phrase:
    """One stretch of speech, or one typed phrase.

    ``exam``: the exam in hand once it was dealt with, or None. ``line``: where in a file of typed
    phrases, from 1. ``by_context``: why it was taken though its sound alone was not sure.
    ``audio_digest``: SHA-256 of the file of its sound.
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
    by_context: tuple[str, ...] = ()
    audio_digest: str | None = None


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
