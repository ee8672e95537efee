"""Typed words as an utterance: no sound, so nothing to doubt."""

from __future__ import annotations

from dictation.recognition.protocol import Heard, Hypothesis, Outcome
from dictation.recognition.word_times import spread
from grammar.normalise import normalise


def typed(line: str) -> Heard:
    """A line of text as if heard with certainty; a blank line is silence. Words carry no time."""
    normal = normalise(line)
    if not normal:
        return Heard(Outcome.SILENCE, reasons=("nothing was typed",))
    words = spread(normal, [(0.0, 0.0)])
    return Heard(
        Outcome.HEARD,
        (Hypothesis(line.strip(), normal, words, 0.0, len(words)),),
        free_text=line.strip(),
        free_tokens=len(words),
        confidence=1.0,
    )
