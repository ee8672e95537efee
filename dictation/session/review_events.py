"""What a person at the desk can do beyond changing one finding: one frozen dataclass a kind."""

from __future__ import annotations

from dataclasses import dataclass

from grammar.findings import Said


@dataclass(frozen=True, slots=True)
class Rephrased:
    """What an utterance said was this. The sound and the first hearing stay as they are.

    ``said`` holds findings only. ``based_on``: number of the last event that the person had seen.
    """

    utterance: int
    text: str
    said: tuple[Said, ...]
    who: str
    why: str = ""
    based_on: int = 0


@dataclass(frozen=True, slots=True)
class ExamAdded:
    """An animal was missed: an exam of its own, behind ``after``, at the start where it is None."""

    after: int | None
    tag: str | None
    who: str
    why: str = ""
    based_on: int = 0


@dataclass(frozen=True, slots=True)
class Undone:
    """A person's event, number ``undone``, is taken back: what it changed is as it was before."""

    undone: int
    who: str
    why: str = ""
    based_on: int = 0


@dataclass(frozen=True, slots=True)
class Reheard:
    """A stored utterance was heard again, with another engine or grammar, and this was taken over.

    ``said``: findings as heard now. ``engine``, ``grammar_version``: of the new hearing.
    """

    utterance: int
    text: str
    said: tuple[Said, ...]
    confidence: float
    engine: str
    grammar_version: str
    who: str
    based_on: int = 0
