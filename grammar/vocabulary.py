"""The words of the trade: spoken forms, how they are written, how they sound. One table.

The built-in table is ``vocabulary.toml``; users extend it with TOML text of the same two tables.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from importlib import resources

_FORM = re.compile(r"[a-z]+( [a-z]+)*")


class VocabularyError(ValueError):
    """A user's table cannot be used; the sentence names the entry and what to do."""


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
    """``terms``: name -> spoken forms, the first being the one read back. ``words``: by word."""

    terms: Mapping[str, tuple[str, ...]]
    words: Mapping[str, Word]
    variants: Mapping[tuple[str, ...], str] = field(default_factory=dict)

    def spoken(self, term: str) -> str:
        """The form in which a term is read back."""
        return self.terms[term][0]


def basic_words(text: str) -> tuple[str, ...]:
    """Lower-case words of a written form, points and apostrophes gone: "C.L." is ('c', 'l')."""
    return tuple(re.sub(r"[^a-z0-9 ]", " ", text.lower().replace("'", "")).split())


def _variants(words: Mapping[str, Word]) -> dict[tuple[str, ...], str]:
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


def _read(text: str, where: str) -> tuple[dict[str, tuple[str, ...]], dict[str, Word]]:
    try:
        table = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise VocabularyError(f"{where} is not readable as TOML: {error}.") from None
    terms: dict[str, tuple[str, ...]] = {}
    for name, forms in table.get("terms", {}).items():
        for form in forms:
            if not isinstance(form, str) or not _FORM.fullmatch(form):
                raise VocabularyError(
                    f"{where}, term '{name}': '{form}' must be lower-case words with single spaces."
                )
        terms[name] = tuple(forms)
    words = {
        name: Word(name, tuple(entry.get("written", (name,))), entry.get("sounds"))
        for name, entry in table.get("words", {}).items()
    }
    return terms, words


@cache
def built_in() -> Vocabulary:
    """The vocabulary that ships with the grammar."""
    text = resources.files("grammar").joinpath("vocabulary.toml").read_text(encoding="utf-8")
    terms, words = _read(text, "vocabulary.toml")
    return Vocabulary(terms, words, _variants(words))


def extended(base: Vocabulary, text: str, where: str) -> Vocabulary:
    """``base`` with a user's own forms added to its terms, and own words.

    Raises VocabularyError for an unknown term or a malformed form, naming ``where``.
    """
    terms, words = _read(text, where)
    for name in terms:
        if name not in base.terms:
            raise VocabularyError(
                f"{where}: there is no term '{name}'; forms can be added to existing terms only."
            )
    merged = {
        name: tuple(dict.fromkeys((*forms, *terms.get(name, ()))))
        for name, forms in base.terms.items()
    }
    all_words = {**base.words, **words}
    return Vocabulary(merged, all_words, _variants(all_words))
