"""exam.lark for a guided recogniser: what may be written, in capitals, commas and digits.

The recogniser writes text, not normalised words: "Left ovary, C.L. 22mm." The constraint is the
same rules with other terminals: a word in all its written forms, and for the space between words
every separator. Whatever it accepts normalises to a sentence of exam.lark; nothing here is a second
grammar. The one thing left out are the free words of a note: they would be a way out of the grammar
for everything else, so they are left to the free hearing, which opens with 'note'.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import replace

from grammar.language import exam_language
from grammar.normalise import CONTRACTIONS
from grammar.rules import Branch, Either, Name, Rules, Symbol, Times, any_of, in_a_row
from grammar.vocabulary import Vocabulary, in_force

# What a recogniser may write between two words; all normalise to one space.
SEPARATORS: tuple[str, ...] = (" ", ", ", ". ", "; ", ": ", "-", ":", " - ", "... ")
CLOSINGS: tuple[str, ...] = ("", ".", ",", "!", "?", "...")

# Behind a point that belongs to what stands before: of "C.L... " the form "C.L." takes the first.
_SEPARATED = (*SEPARATORS, ".. ")
_CLOSED = (*(closing for closing in CLOSINGS if closing), "..")

# Numerals as they may be written; a closing point may belong to the numeral, as in "22.5".
_POINTS = r"(\.|\.\.\.)?"
_NUMERALS = {
    "N1": f"[0-9]{_POINTS}",
    "N2": f"[1-9][0-9]{_POINTS}",
    "N3": f"[1-9][0-9][0-9]{_POINTS}",
    "NLONG": f"(0[0-9]+|[1-9][0-9][0-9][0-9]+){_POINTS}",
    "NDEC": rf"[0-9]+\.[0-9]+{_POINTS}",
    "NORDINAL": "(1|2|3|21|22|23|31)(st|nd|rd|th)|([4-9]|1[0-9]|2[04-9]|30)th",
    "WITH_UNIT": r"[1-9][0-9]{0,2}(\.[0-9]+)?(mm|cm|MM|CM)",
    "ISH": "([1-9][0-9]?|[Tt]wenty|[Tt]hirty|[Ff]orty|[Ff]ifty|[Ss]ixty|[Ss]eventy|[Ee]ighty"
    "|[Nn]inety)ish",
}
_AS_ONE = {
    "_small": "WITH_UNIT",
    "_small_mm": "WITH_UNIT",
    "_long": "WITH_UNIT",
    "_long_mm": "WITH_UNIT",
    "_n_ish": "ISH",
}
_NOTE = Branch(Name("note"), "statement", melts=True)


def constraint(vocabulary: Vocabulary | None = None) -> Rules:
    """The constraint; its start rule is ``start``."""
    vocabulary = vocabulary or in_force()
    shortened = {name: tuple(_shortened(forms)) for name, forms in vocabulary.terms.items()}
    rules = exam_language(replace(vocabulary, terms=shortened))
    statement = rules.named["statement"]
    assert isinstance(statement, Either)
    named = {
        **rules.named,
        **{name: any_of((rules.named[name], Symbol(one))) for name, one in _AS_ONE.items()},
        "statement": Either(tuple(s for s in statement.parts if s != _NOTE)),
        "start": in_a_row(rules.named["start"], Times(Symbol("CLOSING"))),
    }
    space = _alternatives(_SEPARATED)
    words = {
        name: _alternatives(written_forms(name[1:-1], vocabulary)).replace(" ", f"({space})")
        for name in rules.terminals
        if name.startswith('"')
    }
    return Rules(named, {**words, "SP": space, "CLOSING": _alternatives(_CLOSED), **_NUMERALS})


def _shortened(forms: Iterable[str]) -> Iterator[str]:
    """Forms, and the same with short forms: "she's" for "she is"."""
    for form in forms:
        yield form
        for short, long in CONTRACTIONS.items():
            if " " in long and f" {long} " in f" {form} ":
                yield f" {form} ".replace(f" {long} ", f" {short} ").strip()


def written_forms(word: str, vocabulary: Vocabulary | None = None) -> tuple[str, ...]:
    """Every way in which a word of normalised text may be written."""
    vocabulary = vocabulary or in_force()
    known = vocabulary.words.get(word)
    forms = (*known.written, word) if known is not None else (word,)
    return tuple(dict.fromkeys((*forms, *(form[:1].upper() + form[1:] for form in forms))))


def _alternatives(forms: Iterable[str]) -> str:
    """A regular expression for any of the forms, longest first."""
    ordered = sorted(forms, key=lambda form: (-len(form), form))
    return "|".join(re.escape(form).replace(r"\ ", " ").replace(r"\-", "-") for form in ordered)
