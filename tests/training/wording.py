"""What was said beside what was heard, word by word; '22' and 'twenty-two' are one word."""

from __future__ import annotations

import re
from collections.abc import Sequence

from grammar.normalise import normalise
from grammar.numbers import TEENS, TENS, UNITS, ZERO
from tests.training.surface import in_digits

_NUMBERS = {*TEENS, *TENS, *UNITS, *ZERO, "hundred"}


def plain(text: str) -> list[str]:
    """Words of a text, numbers in digits, neighbouring digits as one."""
    out: list[str] = []
    row: list[str] = []
    for word in [*normalise(text).split(), ""]:
        if word in _NUMBERS:
            row.append(word)
            continue
        if row:
            out += in_digits(row) or row
            row = []
        if word:
            out.append(word)
    return re.sub(r"(?<=\d) (?=\d)", "", " ".join(out)).split()


def edits(said: Sequence[str], heard: Sequence[str]) -> int:
    """Words put in, left out or exchanged."""
    row = list(range(len(heard) + 1))
    for i, word in enumerate(said, 1):
        before, row[0] = row[0], i
        for j, other in enumerate(heard, 1):
            here = before + (word != other)
            before, row[j] = row[j], min(row[j] + 1, row[j - 1] + 1, here)
    return row[-1]
