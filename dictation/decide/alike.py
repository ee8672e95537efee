"""Numbers that sound alike, and words that sound like numbers: what else a phrase may have said."""

from __future__ import annotations

from collections.abc import Iterator

# Stressed alike over a pump, thirteen is thirty; a lost first consonant makes fifty sixty and five
# nine. Common practice in spoken-number work, no source.
_PAIRS = (
    ("thirteen", "thirty"),
    ("fourteen", "forty"),
    ("fifteen", "fifty"),
    ("sixteen", "sixty"),
    ("seventeen", "seventy"),
    ("eighteen", "eighty"),
    ("nineteen", "ninety"),
    ("fifty", "sixty"),
    ("five", "nine"),
    ("13", "30"),
    ("14", "40"),
    ("15", "50"),
    ("16", "60"),
    ("17", "70"),
    ("18", "80"),
    ("19", "90"),
    ("50", "60"),
    ("5", "9"),
)
SOUND_ALIKE: dict[str, tuple[str, ...]] = {}
for _one, _other in _PAIRS:
    SOUND_ALIKE[_one] = (*SOUND_ALIKE.get(_one, ()), _other)
    SOUND_ALIKE[_other] = (*SOUND_ALIKE.get(_other, ()), _one)

WRITTEN_FOR_NUMBERS = {"for": "four", "to": "two", "too": "two", "ate": "eight", "won": "one"}
"""Words that an engine without our grammar writes where a number was said."""

DIGITS_ALIKE = frozenset(
    frozenset(pair) for pair in (("5", "9"), ("1", "9"), ("1", "7"), ("2", "3"), ("6", "8"))
)
"""Digits taken for each other in speech: five and nine, one and nine, one and seven, two and three,
six and eight. Our choice; it only orders what is offered."""


def swaps(normal: str) -> Iterator[tuple[str, str, str]]:
    """Each phrase with one number made its neighbour in sound: (phrase, was, is)."""
    words = normal.split()
    for place, word in enumerate(words):
        for other in SOUND_ALIKE.get(word, ()):
            yield " ".join((*words[:place], other, *words[place + 1 :])), word, other


def alike_in(one: str, other: str) -> tuple[str, str] | None:
    """The two numbers where the phrases differ in just one, and those sound alike."""
    ours, theirs = one.split(), other.split()
    if len(ours) != len(theirs):
        return None
    apart = [(a, b) for a, b in zip(ours, theirs, strict=True) if a != b]
    if len(apart) == 1 and apart[0][1] in SOUND_ALIKE.get(apart[0][0], ()):
        return apart[0]
    return None


def with_numbers(normal: str) -> Iterator[tuple[str, str, str]]:
    """Each phrase with one word taken for the number that it sounds like: (phrase, was, is)."""
    words = normal.split()
    for place, word in enumerate(words):
        number = WRITTEN_FOR_NUMBERS.get(word)
        if number is not None:
            yield " ".join((*words[:place], number, *words[place + 1 :])), word, number
