"""How texts are spoken: how long a word takes to say, and which digits a text carries."""

from __future__ import annotations

import re

NUMBER_WORDS: dict[str, int] = {
    "oh": 0,
    "zero": 0,
    "one": 1,
    "two": 2,
    "three": 3,
    "four": 4,
    "five": 5,
    "six": 6,
    "seven": 7,
    "eight": 8,
    "nine": 9,
    "ten": 10,
    "eleven": 11,
    "twelve": 12,
    "thirteen": 13,
    "fourteen": 14,
    "fifteen": 15,
    "sixteen": 16,
    "seventeen": 17,
    "eighteen": 18,
    "nineteen": 19,
    "twenty": 20,
    "thirty": 30,
    "forty": 40,
    "fifty": 50,
    "sixty": 60,
    "seventy": 70,
    "eighty": 80,
    "ninety": 90,
}
_WORD_OF = {number: word for word, number in NUMBER_WORDS.items()}
#: Every word has some length beyond its letters: the pause and the rounding of its edges.
_LETTERS_A_WORD = 1.0
_LETTERS_AN_INITIAL = 3.0


def spoken_letters(word: str) -> float:
    """How long a normalised word takes to say, in letters of ordinary spelling."""
    if re.fullmatch(r"[0-9.]+", word):
        return sum(len(w) + _LETTERS_A_WORD for w in _said(word))
    if len(word) <= 3 and not re.search(r"[aeiouy]", word):
        return _LETTERS_AN_INITIAL * len(word) + _LETTERS_A_WORD
    return len(word) + _LETTERS_A_WORD


def letters_of(normal: str) -> float:
    """Spoken letters of a normalised text."""
    return sum(spoken_letters(word) for word in normal.split())


def spoken_words(normal: str) -> int:
    """How many words are said: '22' is two, 'cl' is two."""
    count = 0
    for word in normal.split():
        if re.fullmatch(r"[0-9.]+", word):
            count += len(_said(word))
        elif len(word) <= 3 and not re.search(r"[aeiouy]", word):
            count += len(word)
        else:
            count += 1
    return count


def said_words(word: str) -> list[str]:
    """A word as spoken: a number as its words, anything else as it is."""
    return _said(word) if re.fullmatch(r"[0-9.]+", word) else [word]


def _said(digits: str) -> list[str]:
    """Words of a written number, tens as tens and everything longer digit by digit."""
    if re.fullmatch(r"[1-9][0-9]?", digits):
        value = int(digits)
        if value in _WORD_OF:
            return [_WORD_OF[value]]
        return [_WORD_OF[value // 10 * 10], _WORD_OF[value % 10]]
    return ["point" if d == "." else _WORD_OF[int(d)] for d in digits]
