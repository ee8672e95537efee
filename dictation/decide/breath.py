"""One phrase on its way into the visit, and how its readings are told apart."""

from __future__ import annotations

from dataclasses import dataclass

from dictation.decide.draft import Draft
from dictation.visit.effects import Alternative
from grammar.exam import FindingState, RecordedFinding
from grammar.findings import Command, CommandName, Finding, Said
from grammar.wording import written


@dataclass(frozen=True, slots=True)
class Breath:
    """A phrase being performed.

    ``sure``: its findings are accepted, otherwise they are recorded as queried. ``started_at``:
    when an exam that it opens began. ``doubts``: why it was not taken as sure.
    """

    phrase: int
    text: str
    sure: bool = True
    at_s: float | None = None
    until_s: float | None = None
    confidence: float = 1.0
    started_at: str | None = None
    doubts: tuple[str, ...] = ()


COMMAND_WORDS: dict[CommandName, str] = {
    CommandName.SCRATCH: "scratch that",
    CommandName.READ_BACK: "read back",
    CommandName.NEXT_ANIMAL: "next animal",
    CommandName.CLOSE: "close",
    CommandName.CLOSE_VISIT: "close visit",
    CommandName.CHANGE: "change",
    CommandName.PAUSE: "pause",
    CommandName.RESUME: "resume",
    CommandName.NOTE: "note",
    CommandName.HELP: "help",
    CommandName.ANSWER: "answer",
}


def record(draft: Draft, breath: Breath, finding: Finding, words: str) -> int:
    """Put a finding into the exam in hand; where there is none, one is opened without a tag."""
    if draft.visit.in_hand is None:
        draft.open_exam(breath.started_at)
    in_hand = draft.visit.in_hand
    assert in_hand is not None
    recorded = RecordedFinding(
        number=0,
        finding=finding,
        state=FindingState.ACCEPTED if breath.sure else FindingState.QUERIED,
        heard=words,
        at_s=breath.at_s,
        until_s=breath.until_s,
        confidence=breath.confidence,
        phrase=breath.phrase,
    )
    return draft.record(recorded, in_hand)


def say_apart(readings: tuple[tuple[Said, ...], ...]) -> tuple[str, ...]:
    """Each reading in the words that tell it from the others; what all share is left out."""
    worded = [[_say_one(each.what) for each in said] for said in readings]
    shared = set(worded[0]).intersection(*worded[1:]) if len(worded) > 1 else set()
    apart = [[words for words in each if words not in shared] for each in worded]
    if not all(apart):
        apart = worded
    return tuple(", ".join(each) for each in apart)


def either(alternatives: tuple[Alternative, ...]) -> str:
    """'Forty or fourteen?' from the words of the alternatives; 'twins, clear; or cull?'."""
    words = [alternative.words for alternative in alternatives]
    comma, last = ("; ", "; or ") if any("," in each for each in words) else (", ", " or ")
    question = last.join((comma.join(words[:-1]), words[-1])) if words[1:] else words[0]
    return capital(question) + "?"


def capital(words: str) -> str:
    """With a capital first letter."""
    return words[:1].upper() + words[1:]


def _say_one(what: Finding | Command) -> str:
    if not isinstance(what, Command):
        return written(what)
    words = COMMAND_WORDS[what.name]
    if what.animal is not None:
        words += f", {written(what.animal)}"
    if what.number is not None:
        words += f" to {what.number:g}"
    if what.side is not None:
        words += f" to {what.side}"
    return words
