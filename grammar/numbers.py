"""Spoken and written numbers as values, and the units in which they are spoken.

Tags are strings, so leading zeros count.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

from lark import Token, Tree


def _numbered(words: str, start: int = 1, step: int = 1) -> dict[str, int]:
    return {word: start + step * place for place, word in enumerate(words.split())}


UNITS = _numbered("one two three four five six seven eight nine")
TEENS = _numbered(
    "ten eleven twelve thirteen fourteen fifteen sixteen seventeen eighteen nineteen", 10
)
TENS = _numbered("twenty thirty forty fifty sixty seventy eighty ninety", 20, 10)
ZERO = {"oh": 0, "zero": 0, "nought": 0}
VALUES = {**UNITS, **TEENS, **TENS, **ZERO, "a": 1}
ORDINALS = _numbered(
    "first second third fourth fifth sixth seventh eighth ninth tenth eleventh twelfth thirteenth"
    " fourteenth fifteenth sixteenth seventeenth eighteenth nineteenth twentieth"
) | {"thirtieth": 30}
MONTHS = _numbered(
    "january february march april may june july august september october november december"
)
WEEKDAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
DAYS_IN_WEEK = 7
# A month of gestation is taken as 30 days, as in the size bands of Njaa (ed.) 2012, Kirkbride's
# Diagnosis of Abortion and Neonatal Loss in Animals, 4th ed., Table A.1.
DAYS_IN_MONTH = 30
DAYS_IN_FORTNIGHT = 14
MM_IN_CM = 10
MM_IN_INCH = 25.4


def words_of(tree: Tree[Token] | Token) -> list[str]:
    """The words under a node, spaces left out, in the order of speech."""
    tokens: Iterable[object] = (
        (tree,) if isinstance(tree, Token) else tree.scan_values(lambda v: isinstance(v, Token))
    )
    return [str(token) for token in tokens if str(token) != " "]


def cardinal(words: list[str]) -> int:
    """Value of a cardinal: "twenty two", "a hundred and five", "one forty", "one oh five"."""
    if "thousand" in words:
        at = words.index("thousand")
        return 1000 * cardinal(words[:at]) + _rest(words[at + 1 :])
    if "hundred" in words:
        at = words.index("hundred")
        return 100 * cardinal(words[:at]) + _rest(words[at + 1 :])
    if len(words) == 1:
        return int(words[0]) if words[0].isdigit() else VALUES[words[0]]
    if words[0] in TENS:
        return TENS[words[0]] + cardinal(words[1:])
    if words[0] in ZERO:
        return cardinal(words[1:])
    # "one forty" is a hundred and forty, "two sixty five" two hundred and sixty-five
    return 100 * VALUES[words[0]] + cardinal(words[1:])


def _rest(words: list[str]) -> int:
    words = [word for word in words if word != "and"] if words[:1] == ["and"] else words
    return cardinal(words) if words else 0


def fraction(words: list[str]) -> float:
    """What follows "point": "four" is 0.4, "seven five" and "75" are 0.75, "oh five" is 0.05."""
    digits = "".join(word if word.isdigit() else str(VALUES[word]) for word in words)
    return int(digits) / float(10 ** len(digits))


_PARTS = {"half": 0.5, "quarter": 0.25, "quarters": 0.25}


def part_of_one(words: list[str]) -> float:
    """ "half", "a quarter", "three quarters"; 0 where it is no such part."""
    times = UNITS.get(words[0], 1) if words else 0
    return times * next((_PARTS[word] for word in words if word in _PARTS), 0.0)


_TAG_PIECES = re.compile(r"tag_(after_)?[0-9]|tag_closed|tag_wide|tag_spoken")


def tag_digits(tree: Tree[Token]) -> str:
    """Digits of a spoken tag: "eight thirty seven" is 837, "double four one" 441, "oh four" 04."""
    if tree.data == "tag" or _TAG_PIECES.fullmatch(str(tree.data)):
        return "".join(tag_digits(child) for child in tree.children if isinstance(child, Tree))
    words = words_of(tree)
    match tree.data:
        case "tag_double":
            return 2 * _digit(words[1])
        case "tag_triple":
            return 3 * _digit(words[1])
        case "tag_numeral":
            return words[0]
        case _:
            return str(cardinal(words))


def digit_run(tree: Tree[Token]) -> str:
    """Digits spoken one by one or written in groups, run together."""
    return "".join(_digit(word) for word in words_of(tree))


def _digit(word: str) -> str:
    return word if word.isdigit() else str(VALUES[word])


def ordinal(words: list[str]) -> int:
    """Day of a month: "tenth", "twenty first", "10th"."""
    if words[0][0].isdigit():
        return int(words[0][:-2])
    if len(words) == 2:
        return TENS[words[0]] + ORDINALS[words[1]]
    return ORDINALS[words[0]]
