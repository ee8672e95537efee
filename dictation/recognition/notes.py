"""A note is any words, so it is heard freely: the guided words cannot hold it."""

from __future__ import annotations

import math
import re

from grammar.normalise import normalise

_OPENING = re.compile(
    r"(?:(?:okay|so|right|and) )?(?:(?:take|make) a )?((?:note|remark|comment) .+)"
)
#: Free minus guided log score, nats a word, from which words that open with 'note' are a note.
#: Smaller makes notes of "not sure"; larger loses short notes.
NOTE_GAP = 0.8


def note_in(free_text: str) -> str | None:
    """The note in a free hearing, normalised; None where it does not open with the word."""
    found = _OPENING.fullmatch(normalise(free_text))
    return None if found is None else found.group(1)


def note_confidence(log_score: float, tokens: int) -> float:
    """Mean probability of a token of the free hearing: what a note's words are worth."""
    return round(min(1.0, math.exp(log_score / max(1, tokens))), 3)
