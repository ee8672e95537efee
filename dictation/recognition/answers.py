"""While something is asked: the utterance is heard a second time as an answer, where the first
hearing made no sure sense of it."""

from __future__ import annotations

import re
from collections.abc import Hashable
from typing import Protocol

from dictation.audio.samples import SAMPLE_RATE_HZ, Samples
from dictation.recognition.confidence import Values
from dictation.recognition.language import Constraint
from dictation.recognition.protocol import Heard, Outcome, Recogniser

SURE = 0.8
"""Confidence from which the first hearing stands: that of the session's own questions."""

LONGEST_ANSWER_S = 3.5
"""'The second one' takes a second; a longer utterance is a phrase of its own."""


class Refocusing(Recogniser, Protocol):
    """A recogniser that can listen for something else with the same model."""

    def listening_for(self, constraint: Constraint, values: Values) -> Recogniser:
        """The same model under another constraint."""
        ...


class AnsweringRecogniser:
    """Hears phrases, and answers while ``ask`` has named any."""

    def __init__(self, recogniser: Refocusing, values: Values) -> None:
        self._recogniser = recogniser
        self._values = values
        self._answers: tuple[str, ...] = ()
        self._for_answers: Recogniser | None = None

    @property
    def name(self) -> str:
        """Name of the recogniser that does the work."""
        return self._recogniser.name

    def ask(self, answers: tuple[str, ...]) -> None:
        """Words that would answer what is asked now; none where nothing is asked."""
        answers = tuple(dict.fromkeys(a for a in answers if a))
        if answers == self._answers:
            return
        listener = None
        if answers:
            listener = self._recogniser.listening_for(answer_constraint(answers), _itself)
        self._answers, self._for_answers = answers, listener

    def recognise(self, samples: Samples) -> Heard:
        """Hear one utterance as a phrase; where that is not sure, as an answer."""
        heard = self._recogniser.recognise(samples)
        listener = self._for_answers
        if listener is None or len(samples) > LONGEST_ANSWER_S * SAMPLE_RATE_HZ:
            return heard
        if self._makes_sense(heard):
            return heard
        answer = listener.recognise(samples)
        return answer if _sure(answer) else heard

    def _makes_sense(self, heard: Heard) -> bool:
        if heard.outcome is not Outcome.HEARD or not heard.hypotheses:
            return False
        readable = self._values(heard.hypotheses[0].normal) is not None
        return readable and heard.confidence >= SURE


def _sure(answer: Heard) -> bool:
    """Among few answers one always fits best; so nothing at all may speak against it.

    On our recording 'twenty four' passed for 'twenty two' with a confidence of 0.85 where only that
    and 'thirty two' were offered; the free hearing spoke against it.
    """
    heard = answer.outcome is Outcome.HEARD
    return heard and answer.confidence >= SURE and not answer.reasons


def _itself(normal: str) -> Hashable:
    return normal


def answer_constraint(answers: tuple[str, ...]) -> str:
    """A constraint under which only these words can be heard, in small letters or capitals."""
    return f"start: ANSWER\nANSWER: /({'|'.join(_written(a) for a in answers)})[.,!?]?/\n"


def _written(answer: str) -> str:
    words = [f"[{w[0].upper()}{w[0]}]{re.escape(w[1:])}" for w in answer.split()]
    return "[ -]".join(words)
