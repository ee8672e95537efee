"""One phrase on its way into the visit, and the wording of findings towards the speaker."""

from __future__ import annotations

from dataclasses import dataclass

from dictation.session.events import FINDINGS_AN_UTTERANCE
from dictation.session.visit import Visit
from grammar.exam import RecordedFinding
from grammar.findings import Command, CommandName, Finding, Said
from grammar.wording import written


@dataclass(frozen=True, slots=True)
class Breath:
    """A phrase being performed.

    ``sure``: its findings are accepted, otherwise they are recorded as queried. ``started_at``:
    when an exam that it opens began. ``doubts``: why it was not taken as sure.
    """

    utterance: int
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


def say_number(number: float) -> str:
    """A number without a needless point."""
    return f"{number:g}"


def say_apart(readings: tuple[tuple[Said, ...], ...]) -> tuple[str, ...]:
    """Each reading in the words that tell it from the others; what all share is left out."""
    worded = [[_say_one(each.what) for each in said] for said in readings]
    shared = set(worded[0]).intersection(*worded[1:]) if len(worded) > 1 else set()
    apart = [[words for words in each if words not in shared] for each in worded]
    if not all(apart):
        apart = worded
    return tuple(", ".join(each) for each in apart)


def next_finding(visit: Visit, utterance: int) -> int:
    """The next free finding number of an utterance."""
    base = last = utterance * FINDINGS_AN_UTTERANCE
    for exam in visit.exams:
        for recorded in exam.recorded:
            if last < recorded.number < base + FINDINGS_AN_UTTERANCE:
                last = recorded.number
    return last + 1


def standing_of(visit: Visit, utterance: int) -> tuple[RecordedFinding, ...]:
    """Findings of an utterance that were not taken back, in the order of speech."""
    return tuple(
        r
        for exam in visit.exams
        for r in exam.standing
        if r.number // FINDINGS_AN_UTTERANCE == utterance
    )


def _say_one(what: Finding | Command) -> str:
    if not isinstance(what, Command):
        return written(what)
    words = COMMAND_WORDS[what.name]
    if what.animal is not None:
        words += f", {written(what.animal)}"
    if what.number is not None:
        words += f" to {say_number(what.number)}"
    if what.side is not None:
        words += f" to {what.side}"
    return words
