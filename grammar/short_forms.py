"""Short forms for typing: 'l ov cl 22' is 'left ovary cl 22 millimetres'. Never offered to speech.

Each short form of the vocabulary stands for words that the grammar reads; none of them is a word of
the grammar, so that a phrase typed as it is spoken means what it would mean spoken.
"""

from __future__ import annotations

import re

from grammar.normalise import normalise
from grammar.vocabulary import in_force

_SIZED = frozenset(
    """
    cl follicle cyst tumour fluid pyometra mucometra rump diameter length width depth wall cavity
    by
    """.split()  # noqa: SIM905 - a list of words reads best as words
)
"""Behind one of these words a bare number is a size; typed without a unit it is in millimetres."""

_UNIT_OR_MORE = frozenset(
    {"by", "millimetres", "millimetre", "mil", "mils", "mm", "centimetres", "centimetre", "cm"}
)
_NUMBER = re.compile(r"[0-9]+(\.[0-9]+)?")
_TIMES = re.compile(r"(?<=[0-9])\s*[x\u00d7*]\s*(?=[0-9])", re.IGNORECASE)


def spelled_out(text: str) -> str:
    """The normalised words that a typed phrase stands for; what has no short form stays."""
    words = normalise(_TIMES.sub(" by ", text)).split()
    if words and words[0] in {"note", "remark", "comment"}:
        return " ".join(words)
    full: list[str] = []
    for place, word in enumerate(words):
        following = words[place + 1] if place + 1 < len(words) else ""
        full += _expanded(word, following).split()
    return " ".join(_with_units(full))


def _expanded(word: str, following: str) -> str:
    full = in_force().short.get(word, word)
    if word == "rc" and full == "recheck" and _NUMBER.fullmatch(following):
        return "recheck in"
    return full


def _with_units(words: list[str]) -> list[str]:
    out: list[str] = []
    for place, word in enumerate(words):
        out.append(word)
        following = words[place + 1] if place + 1 < len(words) else ""
        if (
            _NUMBER.fullmatch(word)
            and place > 0
            and words[place - 1] in _SIZED
            and following not in _UNIT_OR_MORE
        ):
            out.append("millimetres")
    return out
