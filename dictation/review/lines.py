"""What one phrase, finding or entry comes to on the page. Frozen, so that a page knows what
changed by comparing.
"""

from __future__ import annotations

from dataclasses import dataclass

from dictation.decide.people.history import ActLine
from dictation.review.drawing import Strip
from dictation.visit.parts import Query
from grammar.exam import Flag


@dataclass(frozen=True, slots=True)
class FindingLine:
    """``state``: a word where it is not simply accepted; ``was``: what was heard first.

    ``place``: which of the animal's findings that stand it is, from 1; 0 where it does not.
    """

    number: int
    place: int
    kind: str
    words: str
    state: str = ""
    was: str = ""
    elsewhere: str = ""


@dataclass(frozen=True, slots=True)
class PhraseLine:
    """A stretch of speech or a typed phrase, and what was made of it.

    ``phrase``: None for what nobody said: a person put it there, or it came from a file.
    ``confidence``: a word and a number, empty for typed words. ``became``: what became of it.
    """

    id: str
    phrase: int | None
    text: str
    became: str
    findings: tuple[FindingLine, ...]
    questions: tuple[Query, ...]
    at_s: float | None = None
    clock: str = "typed"
    seconds: str = ""
    sound: bool = False
    confidence: str = ""
    refused: bool = False

    @property
    def kinds(self) -> str:
        """Kinds of its findings, for the filter."""
        return " ".join(dict.fromkeys(finding.kind for finding in self.findings))

    @property
    def doubtful(self) -> bool:
        """Whether something of it is asked."""
        return bool(self.questions) or any(line.state == "asked" for line in self.findings)

    @property
    def changed(self) -> bool:
        """Whether people had a hand in it."""
        return any(line.state in ("corrected", "withdrawn") for line in self.findings)


@dataclass(frozen=True, slots=True)
class ExamSheet:
    """One animal; ``number`` 0 is what was said before the first. ``left``: what is to settle.

    ``approved``: by whom, and who changed it since; ``covers``: what they stood for.
    """

    number: int
    phrases: tuple[PhraseLine, ...]
    left: int
    tag: str = ""
    known: str = ""
    status: str = ""
    in_hand: bool = False
    approved: str = ""
    approval_holds: bool = False
    covers: str = ""
    flags: tuple[Flag, ...] = ()
    acts: tuple[ActLine, ...] = ()


@dataclass(frozen=True, slots=True)
class OpenLine:
    """One thing to look at. ``at``: id of where it stands on the page."""

    at: str
    cow: str
    kind: str
    words: str


@dataclass(frozen=True, slots=True)
class Heading:
    """The head of the page. ``undo``, ``redo``: what these keys would do, where there is such.

    ``open``: what is to look at, the gravest first; ``sure``: animals that can be approved at once;
    ``done``: what people did, the last first.
    """

    date: str
    farm: str
    animals: int
    open: tuple[OpenLine, ...]
    refused: int
    sure: int
    done: tuple[ActLine, ...]
    approved: str
    approval_holds: bool
    closed: bool
    paused: bool
    undo: ActLine | None
    redo: ActLine | None
    until: str
    strip: Strip | None
