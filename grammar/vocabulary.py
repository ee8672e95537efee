"""The words of the trade: spoken forms, how they are written, how they sound. One table.

The built-in table is ``vocabulary.toml``; users extend it with TOML text of the same tables
(``grammar.own_words``).
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from importlib import resources


class VocabularyError(ValueError):
    """A table cannot be used; the sentence names the entry and what to do."""


@dataclass(frozen=True, slots=True)
class Word:
    """One word of normalised text.

    ``written``: how a recogniser may write it, capitals and points included.
    ``sounds``: ARPABET pronunciation, None where a general dictionary knows the word.
    """

    word: str
    written: tuple[str, ...]
    sounds: str | None = None


@dataclass(frozen=True, slots=True)
class Vocabulary:
    """``terms``: name -> spoken forms, the first being the one read back. ``words``: by word.

    ``usual``: the forms that samples are drawn from. ``short``: what may be typed for longer words.
    ``own``: forms that a practice has added, and the term of each. ``alone``: whole typed phrases
    that no recogniser is offered, and the words that they stand for.
    """

    terms: Mapping[str, tuple[str, ...]]
    words: Mapping[str, Word]
    variants: Mapping[tuple[str, ...], str] = field(default_factory=dict)
    usual: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    short: Mapping[str, str] = field(default_factory=dict)
    own: Mapping[str, str] = field(default_factory=dict)
    alone: Mapping[str, str] = field(default_factory=dict)

    def spoken(self, term: str) -> str:
        """The form in which a term is read back."""
        return self.terms[term][0]


def basic_words(text: str) -> tuple[str, ...]:
    """Lower-case words of a written form, points and apostrophes gone: "C.L." is ('c', 'l')."""
    return tuple(re.sub(r"[^a-z0-9 ]", " ", text.lower().replace("'", "")).split())


def variants_of(words: Mapping[str, Word]) -> dict[tuple[str, ...], str]:
    """Written forms, as basic words, by the word they stand for. Raises VocabularyError."""
    found: dict[tuple[str, ...], str] = {}
    for word in words.values():
        for written in word.written:
            key = basic_words(written)
            if key == (word.word,):
                continue
            if found.setdefault(key, word.word) != word.word:
                raise VocabularyError(
                    f"'{written}' is a written form of both '{found[key]}' and '{word.word}'; "
                    "take it out of one of them."
                )
    return found


@cache
def built_in() -> Vocabulary:
    """The vocabulary that ships with the grammar."""
    text = resources.files("grammar").joinpath("vocabulary.toml").read_text(encoding="utf-8")
    table = tomllib.loads(text)
    usual = {name: tuple(forms) for name, forms in table["terms"].items()}
    seldom = table["seldom"]
    terms = {name: (*forms, *seldom.get(name, ())) for name, forms in usual.items()}
    words = {
        name: Word(name, tuple(entry.get("written", (name,))), entry.get("sounds"))
        for name, entry in table["words"].items()
    }
    variants = variants_of(words)
    return Vocabulary(terms, words, variants, usual, table["short"], alone=table["alone"])


_IN_FORCE: list[Vocabulary] = []


def in_force() -> Vocabulary:
    """The vocabulary that everything reads with where none is given: both ends take the same."""
    return _IN_FORCE[-1] if _IN_FORCE else built_in()


def take_up(vocabulary: Vocabulary | None) -> None:
    """Read with this vocabulary from now on; with the built-in one for None.

    Set once, when the program starts: what was compiled before keeps its own.
    """
    _IN_FORCE[:] = [] if vocabulary is None else [vocabulary]
