"""What one phrase, finding, flag or correction comes to on the page. Frozen, so that a page knows
what changed by comparing.
"""

from __future__ import annotations

from dataclasses import dataclass

from dictation.review.strip import Strip


@dataclass(frozen=True, slots=True)
class FindingLine:
    """``state``: a word where it is not simply accepted; ``was``: what stood there before."""

    number: int
    kind: str
    words: str
    state: str = ""
    was: str = ""
    elsewhere: str = ""


@dataclass(frozen=True, slots=True)
class QuestionBox:
    """Something asked, with its numbered answers."""

    id: str
    question: str
    why: str
    answers: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PhraseLine:
    """A stretch of speech or a typed phrase, and what was made of it.

    ``confidence``: a word and a number, empty for typed words. ``became``: what became of it.
    ``moving``: whether it can be moved, split off or put right.
    """

    utterance: int
    at_s: float | None
    clock: str
    seconds: str
    text: str
    became: str
    sound: bool
    confidence: str
    doubts: str
    findings: tuple[FindingLine, ...]
    questions: tuple[QuestionBox, ...]
    doubtful: bool
    refused: bool
    changed: bool
    typed_in: bool

    @property
    def kinds(self) -> str:
        """Kinds of its findings, for the filter."""
        return " ".join(dict.fromkeys(finding.kind for finding in self.findings))


@dataclass(frozen=True, slots=True)
class FlagLine:
    """A check's remark."""

    severity: str
    why: str
    rule: str
    source: str


@dataclass(frozen=True, slots=True)
class DeedLine:
    """What a person did: when (UTC), who, what, and why."""

    seq: int
    at: str
    who: str
    what: str
    why: str
    undone: bool


@dataclass(frozen=True, slots=True)
class ExamSheet:
    """One animal; ``number`` 0 is what was said before the first. ``left``: what is to settle."""

    number: int
    tag: str
    known: str
    status: str
    in_hand: bool
    approved: str
    left: int
    flags: tuple[FlagLine, ...]
    phrases: tuple[PhraseLine, ...]
    deeds: tuple[DeedLine, ...]


@dataclass(frozen=True, slots=True)
class Heading:
    """The head of the page."""

    date: str
    farm: str
    animals: int
    left: int
    refused: int
    approved: str
    closed: bool
    paused: bool
    undo: str
    until: str
    strip: Strip | None
