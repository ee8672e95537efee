"""A practice's own words: TOML text that adds to the vocabulary, for both ends.

    [terms]
    corpus_luteum = ["yellow one"]        # more spoken forms of a thing that hornsweep knows
    [words.bol]
    written = ["Bol", "bol"]              # how a recogniser may write a word
    sounds = "B AA L"                     # ARPABET, for the phonetic engine
    [short]
    yo = "yellow one"                     # an abbreviation, for typing

What cannot be used is a ``VocabularyError`` that names file, line and what to do.
"""

from __future__ import annotations

import difflib
import re
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from grammar.language import exam_rules
from grammar.numbers import ORDINALS, VALUES
from grammar.vocabulary import Vocabulary, VocabularyError, Word, basic_words, variants_of

TABLES = ("terms", "words", "short")

_FORM = re.compile(r"[a-z]+( [a-z]+)*")
_WORD = re.compile(r"[a-z]+")
_WRITTEN = re.compile(r"[A-Za-z][A-Za-z'.]*( [A-Za-z][A-Za-z'.]*)*")
_SOUNDS = re.compile(r"[A-Z]{1,2}[0-2]?( [A-Z]{1,2}[0-2]?)*")
_SHORT = re.compile(r"[a-z][a-z0-9]*")
# A form that opened with one of these would take the rest of a phrase, or be a number.
_NOT_IN_FORMS = frozenset({"note", "remark", "comment"})
_NUMBERS = frozenset({*VALUES, *ORDINALS, "hundred", "thousand", "point", "and", "half"})


@dataclass(frozen=True, slots=True)
class _File:
    """The text of a user's file, to find the line of an entry in it."""

    text: str
    where: str

    def wrong(self, table: str, key: str, value: object, what: str) -> VocabularyError:
        return VocabularyError(f"{self.where}, line {self.line_of(table, key, value)}: {what}")

    def want(self, usable: object, table: str, key: str, value: object, what: str) -> None:
        if not usable:
            raise self.wrong(table, key, value, what)

    def line_of(self, table: str, key: str, value: object) -> int:
        """Line of a value of an entry; of the entry, or the table, where the value is not found."""
        entry = re.compile(rf'\s*"?{re.escape(key)}"?\s*=') if key else None
        head = re.compile(rf'\s*\[\s*{re.escape(table)}(\s*\.\s*"?{re.escape(key)}"?)?\s*\]')
        within, at, found = False, 1, None
        for number, line in enumerate(self.text.splitlines(), start=1):
            if line.lstrip().startswith("[") and re.match(r"\s*\[[^\]\"',]+\]\s*(#.*)?$", line):
                within = head.match(line) is not None or line.strip().startswith(f"[{table}]")
                if within and found is None:
                    at = number
                    found = number if key and f".{key}" in line.replace('"', "") else None
            elif within and entry is not None and entry.match(line):
                at = found = number
            if within and found is not None and isinstance(value, str) and f'"{value}"' in line:
                return number
        return at


def extended(base: Vocabulary, text: str, where: str) -> Vocabulary:
    """``base`` with a user's own forms, words and abbreviations added.

    Raises VocabularyError with ``where`` and the line for whatever cannot be used.
    """
    file = _File(text, where)
    try:
        tables = tomllib.loads(text)
    except RecursionError:
        raise VocabularyError(f"{where}: tables and lists stand too deep in each other.") from None
    except ValueError as error:  # also a number with thousands of digits
        at = re.search(r"\(at (?:line (\d+), column \d+|end of document)\)", str(error))
        line = at.group(1) if at and at.group(1) else text.count("\n") + 1
        plain = re.sub(r" \(at .*\)$", "", str(error))
        raise VocabularyError(f"{where}, line {line}: not readable as TOML ({plain}).") from None
    for name in tables:
        what = f"there is no table '{name}'; the tables are {', '.join(TABLES)}."
        file.want(name in TABLES, name, "", None, what)
    terms, own = _terms(file, base, _table(file, tables, "terms"))
    words = {**base.words, **_words(file, base, _table(file, tables, "words"))}
    try:
        variants = variants_of(words)
    except VocabularyError as error:
        raise VocabularyError(f"{where}: {error}") from None
    own = {**base.own, **own}
    grown = replace(base, terms=terms, words=words, variants=variants, own=own)
    known = words_of_grammar(grown)
    kept = {form: full for form, full in base.short.items() if form not in known}
    return replace(grown, short={**kept, **_short(file, known, _table(file, tables, "short"))})


def words_of_grammar(vocabulary: Vocabulary) -> frozenset[str]:
    """Every single word that the grammar can read with this vocabulary."""
    own = (word for forms in vocabulary.terms.values() for form in forms for word in form.split())
    return frozenset((*own, *re.findall(r'"([a-z]+)"', exam_rules())))


def _table(file: _File, tables: Mapping[str, object], name: str) -> Mapping[str, object]:
    table = tables.get(name, {})
    if not isinstance(table, dict):
        raise file.wrong(name, "", None, f"'{name}' must be a table: write [{name}] above it.")
    return table


def _terms(
    file: _File, base: Vocabulary, table: Mapping[str, object]
) -> tuple[dict[str, tuple[str, ...]], dict[str, str]]:
    meaning: dict[str, str] = {}
    for name, forms in base.terms.items():
        for form in forms:
            meaning.setdefault(form, name)
    added: dict[str, list[str]] = {}
    own: dict[str, str] = {}
    for name, value in table.items():
        if name not in base.terms:
            near = difflib.get_close_matches(name, base.terms, n=1, cutoff=0.0)[0]
            what = f"there is no term '{name}'; the nearest is '{near}'."
            raise file.wrong("terms", name, None, what)
        for form in _texts(file, "terms", name, value):
            _check_form(file, name, form)
            what = f"'{form}' already means '{meaning.get(form)}'; take other words for '{name}'."
            file.want(meaning.get(form, name) == name, "terms", name, form, what)
            meaning[form] = name
            added.setdefault(name, []).append(form)
            own[form] = name
    terms = {
        name: tuple(dict.fromkeys((*forms, *added.get(name, ()))))
        for name, forms in base.terms.items()
    }
    return terms, own


def _check_form(file: _File, name: str, form: str) -> None:
    what = f"'{form}' must be lower-case words with single spaces, numbers written out."
    file.want(_FORM.fullmatch(form), "terms", name, form, what)
    words = set(form.split())
    what = f"'{form}' has a word in it that begins a note; take another."
    file.want(not words & _NOT_IN_FORMS, "terms", name, form, what)
    what = f"'{form}' is a number; take another word."
    file.want(not words <= _NUMBERS, "terms", name, form, what)


def _words(file: _File, base: Vocabulary, table: Mapping[str, object]) -> dict[str, Word]:
    found: dict[str, Word] = {}
    for name, entry in table.items():
        if not _WORD.fullmatch(name) or not isinstance(entry, dict):
            what = f"[words.{name}] must name one lower-case word and hold 'written' or 'sounds'."
            raise file.wrong("words", name, None, what)
        for unknown in sorted(set(entry) - {"written", "sounds"}):
            what = f"'{unknown}' is not known of a word; there are 'written' and 'sounds'."
            raise file.wrong("words", name, None, what)
        forms = tuple(_texts(file, "words", name, entry.get("written", [name])))
        for form in forms:
            _check_written(file, base, name, form)
        sounds = entry.get("sounds")
        what = f"'{sounds}' is no ARPABET; write sounds in capitals, such as \"S IY EH L\"."
        plain = isinstance(sounds, str) and _SOUNDS.fullmatch(sounds)
        file.want(sounds is None or plain, "words", name, sounds, what)
        before = base.words.get(name)
        kept = before.written if before is not None else ()
        heard = sounds if sounds is not None else None if before is None else before.sounds
        found[name] = Word(name, tuple(dict.fromkeys((*kept, *forms))), heard)
    return found


def _check_written(file: _File, base: Vocabulary, name: str, form: str) -> None:
    """A written form must be letters, and not open with a whole other word and a full stop.

    The recogniser's lexer takes the longest match and does not step back (DEVELOPERS.md): "A.I."
    would swallow the article of "a half" before a full stop.
    """
    what = f"'{form}' must be letters, with points or single spaces between them."
    file.want(_WRITTEN.fullmatch(form) and basic_words(form), "words", name, form, what)
    head = form.split(".", 1)[0].lower()
    opens = "." in form and head != name and head in words_of_grammar(base)
    what = f"'{form}' opens with the word '{head}' and a point; write it without points."
    file.want(not opens, "words", name, form, what)


def _short(file: _File, known: frozenset[str], table: Mapping[str, object]) -> dict[str, str]:
    found: dict[str, str] = {}
    for name, words in table.items():
        if not _SHORT.fullmatch(name) or not isinstance(words, str):
            what = f'write an abbreviation as {name} = "the words it stands for".'
            raise file.wrong("short", name, None, what)
        what = f"'{name}' is itself a word that is read; take another abbreviation."
        file.want(name not in known, "short", name, None, what)
        missing = next((word for word in words.split() or [words] if word not in known), None)
        what = f"'{missing}' is no word that is read; put it under [terms] first."
        file.want(missing is None, "short", name, words, what)
        found[name] = words
    return found


def _texts(file: _File, table: str, key: str, value: object) -> Iterator[str]:
    if not isinstance(value, list) or not all(isinstance(each, str) for each in value):
        what = f'the forms of \'{key}\' must be a list of texts, such as ["one", "another one"].'
        raise file.wrong(table, key, None, what)
    yield from value
