"""How likely a phrase is as a thing to say at an exam, whatever the sound.

The grammar says what can be said, not what usually is: 'ovaries' and 'ovary', 'comment' and 'cow
eight' are equal to it. A count of which word follows which, over the phrases of ``habits.txt``,
tells them apart. Numbers are one word to it, so it never prefers one value to another.
"""

from __future__ import annotations

import math
import re
from collections import Counter
from collections.abc import Iterable
from functools import cache
from importlib.resources import files
from itertools import pairwise

from dictation.recognition.speech import NUMBER_WORDS
from grammar.normalise import normalise

#: Weights of the word pair, the single word, and any word at all (one of ``_ANY``).
_PAIR, _SINGLE, _ANY_SHARE = 0.5, 0.35, 0.15
_ANY = 500
_NUMBER = "#"
_EDGE = "|"


def _classed(normal: str) -> list[str]:
    """Words with a run of number words as one number."""
    words: list[str] = []
    for word in normal.split():
        number = word in NUMBER_WORDS or re.fullmatch(r"[0-9.]+", word)
        if not number:
            words.append(word)
        elif not words or words[-1] != _NUMBER:
            words.append(_NUMBER)
    return words


class Habits:
    """Word pair counts of a list of phrases."""

    def __init__(self, phrases: Iterable[str]) -> None:
        self._pairs: Counter[tuple[str, str]] = Counter()
        self._firsts: Counter[str] = Counter()
        self._singles: Counter[str] = Counter()
        for phrase in phrases:
            words = [_EDGE, *_classed(normalise(phrase)), _EDGE]
            self._pairs.update(pairwise(words))
            self._firsts.update(words[:-1])
            self._singles.update(words[1:])
        self._total = sum(self._singles.values())

    def nats(self, normal: str) -> float:
        """Natural log probability of a normalised phrase.

        The end of a statement inside a breath is no end of the breath, so a word may follow
        another as if it began a phrase.
        """
        words = [_EDGE, *_classed(normal), _EDGE]
        return sum(self._step(before, word) for before, word in pairwise(words))

    def _step(self, before: str, word: str) -> float:
        follows = self._pairs[before, word] / max(1, self._firsts[before])
        begins = self._pairs[_EDGE, word] / max(1, self._firsts[_EDGE])
        ends = self._pairs[before, _EDGE] / max(1, self._firsts[before])
        pair = max(follows, ends * begins)
        single = self._singles[word] / max(1, self._total)
        return math.log(_PAIR * pair + _SINGLE * single + _ANY_SHARE / _ANY)


@cache
def usual() -> Habits:
    """The habits of ``habits.txt``."""
    text = files("dictation.recognition").joinpath("habits.txt").read_text(encoding="utf-8")
    lines = (line.strip() for line in text.splitlines())
    return Habits([line for line in lines if line and not line.startswith("#")])
