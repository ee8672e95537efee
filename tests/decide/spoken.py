"""Visits in the words of the speaker, for tests: phrases in, a folded visit out."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date

from dictation.decide import decide
from dictation.decide.doubt import doubts_of_reading
from dictation.decide.understanding import Understanding
from dictation.decide.weighing import weighed
from dictation.recognition.protocol import Heard as HeardSound
from dictation.recognition.protocol import Hypothesis, Outcome
from dictation.visit.apply import after, fold
from dictation.visit.facts import Happened, VisitOpened
from dictation.visit.inputs import (
    INPUTS,
    By,
    Deed,
    Input,
    Noted,
    PhraseHeard,
    PhraseTyped,
)
from dictation.visit.state import Act, Visit
from dictation.visit.words import phrase_of
from grammar.exam import Exam, FindingState
from grammar.normalise import normalise
from grammar.parse import parse

ON = date(2026, 11, 18)
AT = "2026-11-18T09:00:00.000+00:00"


@dataclass(frozen=True, slots=True)
class Unsure:
    """A phrase heard with little confidence, and what else it may have been.

    ``apart_nats``: how far each other hearing lies behind the one before it.
    """

    text: str
    others: tuple[str, ...] = ()
    confidence: float = 0.5
    apart_nats: float = 1.0


@dataclass(frozen=True, slots=True)
class Chatter:
    """Speech that the recogniser refused."""

    text: str


Phrase = str | Unsure | Chatter | Input | Happened


def acts_of(
    *phrases: Phrase | tuple[Deed, By],
    begun: tuple[Happened, ...] = (VisitOpened(ON),),
    time_of: Callable[[int], str] = lambda seq: AT,
) -> list[Act]:
    """The entries of a visit in which these phrases were said, and these things done, in turn.

    ``begun``: what happened before; ``time_of``: of an entry, by its number.
    """
    acts: list[Act] = []
    visit = Visit()
    for seq, phrase in enumerate((*begun, *phrases), start=1):
        given, by = come_in(visit, phrase)
        facts = decide(visit, given, by, time_of(seq))
        kind = INPUTS[type(given)]
        acts.append(Act(seq, time_of(seq), kind, by.who, by.why, phrase_of(given), facts))
        visit = after(visit, acts[-1])
    return acts


def come_in(visit: Visit, phrase: Phrase | tuple[Deed, By]) -> tuple[Input, By]:
    """A phrase, or what a person does, as the next input of a visit."""
    if isinstance(phrase, tuple):
        return phrase
    if isinstance(phrase, str | Unsure | Chatter):
        return given_of(visit, phrase), By("voice")
    if isinstance(phrase, Happened):
        return Noted(phrase), By("voice")
    return phrase, By("anna")


def visit_of(*phrases: Phrase | tuple[Deed, By]) -> Visit:
    """The visit that comes of them."""
    return fold(acts_of(*phrases))


def given_of(visit: Visit, phrase: str | Unsure | Chatter) -> Input:
    """A phrase as the next input of a visit."""
    return _input(visit.given.phrase + 1, phrase, visit)


def _input(number: int, phrase: str | Unsure | Chatter, visit: Visit) -> Input:
    reads = Understanding(parse, lambda: visit)
    if isinstance(phrase, str):
        reading = reads(phrase, ON)
        doubts = doubts_of_reading(reading, ON)
        return PhraseTyped(number, phrase, reading.said, reading.others, reading.unread, doubts)
    heard = _sound(phrase)
    made = weighed(heard, reads, visit, ON)
    return PhraseHeard(
        number,
        f"{number:04d}.flac",
        number * 10.0,
        number * 10.0 + 2.0,
        heard.outcome,
        hypotheses=heard.hypotheses,
        free_text=heard.free_text,
        confidence=heard.confidence,
        said=made.said,
        alternatives=made.alternatives,
        unread=made.unread,
        doubts=made.doubts,
    )


def _sound(phrase: Unsure | Chatter) -> HeardSound:
    if isinstance(phrase, Chatter):
        return HeardSound(Outcome.NOT_OUR_LANGUAGE, free_text=phrase.text)
    texts = (phrase.text, *phrase.others)
    hypotheses = tuple(
        Hypothesis(text, normalise(text), (), -place * phrase.apart_nats, 1)
        for place, text in enumerate(texts)
    )
    return HeardSound(
        Outcome.HEARD, hypotheses, phrase.text, confidence=phrase.confidence, reasons=("noise",)
    )


def sure(text: str, *others: str, apart_nats: float = 9.0) -> Unsure:
    """A phrase heard surely, with what else was in it, further away."""
    return Unsure(text, others, 0.99, apart_nats)


def standing(exam: Exam | None) -> list[str]:
    """Findings of an exam that count, as their words."""
    assert exam is not None
    return [r.heard for r in exam.standing]


def states(exam: Exam | None) -> list[FindingState]:
    """States of all findings of an exam."""
    assert exam is not None
    return [r.state for r in exam.recorded]
