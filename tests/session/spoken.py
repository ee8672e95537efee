"""Visits in the words of the speaker, for tests: phrases in, a folded visit out."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from dictation.recognition.protocol import Heard as HeardSound
from dictation.recognition.protocol import Hypothesis, Outcome
from dictation.session.doubt import doubts_of_reading
from dictation.session.events import Entry, Event, Heard, Typed, VisitOpened
from dictation.session.fold import fold
from dictation.session.visit import Visit
from dictation.session.weighing import weighed
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


Phrase = str | Unsure | Chatter | Event


def events_of(*phrases: Phrase) -> list[Event]:
    """The events of a visit in which these phrases were said in turn."""
    events: list[Event] = [VisitOpened(ON)]
    number = 0
    for phrase in phrases:
        if isinstance(phrase, str | Unsure | Chatter):
            number += 1
            events.append(_event(number, phrase, _so_far(events)))
        else:
            events.append(phrase)
    return events


def entries_of(*phrases: Phrase) -> list[Entry]:
    """The same, as a journal would give them back."""
    return [Entry(seq, AT, event) for seq, event in enumerate(events_of(*phrases), start=1)]


def visit_of(*phrases: Phrase) -> Visit:
    """The visit that comes of them."""
    return fold(entries_of(*phrases))


def _so_far(events: list[Event]) -> Visit:
    return fold(Entry(seq, AT, event) for seq, event in enumerate(events, start=1))


def _event(number: int, phrase: str | Unsure | Chatter, visit: Visit) -> Event:
    if isinstance(phrase, str):
        reading = parse(phrase, ON)
        doubts = doubts_of_reading(reading, ON)
        return Typed(number, phrase, reading.said, reading.others, reading.unread, doubts)
    heard = _sound(phrase)
    made = weighed(heard, parse, visit, ON)
    return Heard(
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
