"""exam.lark for a guided recogniser: what may be written, in capitals, commas and digits.

The recogniser writes text, not normalised words: "Left ovary, C.L. 22mm." The constraint is the
same rules with every word replaced by its written surfaces and every space by the separators that
may stand between words. Whatever it accepts normalises to a sentence of exam.lark; nothing here is
a second grammar. The one thing left out are the free words of a note: they would be a way out of
the grammar for everything else, so they are left to the free hearing, which opens with 'note'.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence

from grammar.language import SPACE, exam_language, phrase
from grammar.normalise import CONTRACTIONS
from grammar.rules import (
    Branch,
    Either,
    Expression,
    Name,
    Rules,
    Symbol,
    Then,
    Times,
    any_of,
    in_a_row,
)
from grammar.vocabulary import Vocabulary, in_force

# What a recogniser may write between two words; all normalise to one space.
SEPARATORS: tuple[str, ...] = (" ", ", ", ". ", "; ", ": ", "-", ":", " - ", "... ")
CLOSINGS: tuple[str, ...] = ("", ".", ",", "!", "?", "...")

# Of "C.L... " the form "C.L." takes the first point.
_AFTER_A_POINT = (".. ",)

# Numerals as they may be written. A closing point belongs to the numeral ("22." may still become
# "22.5"): the reference library's lexer takes the longest match and does not step back.
_TERMINALS = {
    "N1": r"[0-9](\.|\.\.\.)?",
    "N2": r"[1-9][0-9](\.|\.\.\.)?",
    "N3": r"[1-9][0-9][0-9](\.|\.\.\.)?",
    "NLONG": r"(0[0-9]+|[1-9][0-9][0-9][0-9]+)(\.|\.\.\.)?",
    "NDEC": r"[0-9]+\.[0-9]+(\.|\.\.\.)?",
    "NORDINAL": r"(1|2|3|21|22|23|31)(st|nd|rd|th)|([4-9]|1[0-9]|2[04-9]|30)th",
    "FUSED_UNIT": r"[1-9][0-9]{0,2}(\.[0-9]+)?(mm|cm|MM|CM)",
    "FUSED_ISH": r"([1-9][0-9]?|[Tt]wenty|[Tt]hirty|[Ff]orty|[Ff]ifty|[Ss]ixty|[Ss]eventy"
    r"|[Ee]ighty|[Nn]inety)ish",
}
_GAP, _UNIT = Name("gap"), Name("size_unit")
_FREE_WORDS = Name("note")


def constraint(vocabulary: Vocabulary | None = None) -> Rules:
    """The constraint; its start rule is ``start``."""
    vocabulary = vocabulary or in_force()
    spoken = exam_language(vocabulary)
    as_one, shortened = _as_one()
    named = {
        name: _written(rule, as_one)
        for name, rule in spoken.named.items()
        if name != _FREE_WORDS.name
    }
    named["start"] = in_a_row(named["start"], Times(Symbol("CLOSING"), 0, endless=False))
    terminals = {
        "SP": _alternatives((*SEPARATORS, *_AFTER_A_POINT)),
        "CLOSING": _alternatives([*(c for c in CLOSINGS if c), ".."]),
        **_TERMINALS,
        **shortened,
    }
    for source in spoken.terminals:
        if source.startswith('"'):
            word = source[1:-1]
            named[f"w_{word}"] = _word(word, vocabulary, terminals)
    return Rules(named, terminals)


def _as_one() -> tuple[dict[tuple[Expression, ...], Symbol], dict[str, str]]:
    """What may be written as one: "22mm", "40ish", "she's"; and how the short forms are written."""
    as_one: dict[tuple[Expression, ...], Symbol] = {
        (Name("n_age"), _GAP, Name("ish")): Symbol("FUSED_ISH")
    }
    for number in (Name("small_size"), Name("n_size")):
        with_unit = Times(Then((_GAP, _UNIT)), 0, endless=False)
        as_one[number, with_unit] = as_one[number, _GAP, _UNIT] = Symbol("FUSED_UNIT")
    shortened: dict[str, str] = {}
    for short, long in CONTRACTIONS.items():
        words = phrase(long.split())
        if isinstance(words, Then):
            name = "SHORT_" + re.sub(r"[^a-z]", "", short).upper()
            as_one[words.parts] = Symbol(name)
            shortened[name] = _alternatives((short, _capital(short)))
    return as_one, shortened


def _written(rule: Expression, as_one: dict[tuple[Expression, ...], Symbol]) -> Expression:
    """A rule as it may be written; without the branches, since nobody makes a tree of it."""
    match rule:
        case Symbol(str(read)) if read.startswith('"'):
            return Name(f"w_{read[1:-1]}")
        case Branch(part):
            return _written(part, as_one)
        case Times(part, least, endless):
            return Times(_written(part, as_one), least, endless)
        case Either(parts):
            return any_of(_written(p, as_one) for p in parts if _of(p) != _FREE_WORDS)
        case Then(parts):
            return _row(parts, as_one)
    return rule


def _of(option: Expression) -> Expression:
    return option.part if isinstance(option, Branch) else option


def _row(parts: tuple[Expression, ...], as_one: dict[tuple[Expression, ...], Symbol]) -> Expression:
    row: list[Expression] = []
    at = 0
    while at < len(parts):
        run = next((run for run in as_one if parts[at : at + len(run)] == run), parts[at : at + 1])
        apart = in_a_row(*(_written(part, as_one) for part in run))
        row.append(Either((apart, as_one[run])) if run in as_one else apart)
        at += len(run)
    return in_a_row(*row)


def _word(word: str, vocabulary: Vocabulary, terminals: dict[str, str]) -> Expression:
    """A word by its written forms. A form with a space is a sequence, not one lexeme: a lexeme
    "A I" would swallow the article of "a good CL"."""
    forms = written_forms(word, vocabulary)
    terminals[f"W_{word.upper()}"] = _alternatives([form for form in forms if " " not in form])
    ways: list[Expression] = [Symbol(f"W_{word.upper()}")]
    for form in (form for form in forms if " " in form):
        pieces: list[Expression] = []
        for piece in form.split(" "):
            terminals[f"P_{_name(piece)}"] = _alternatives((piece,))
            pieces += (SPACE, Symbol(f"P_{_name(piece)}"))
        ways.append(in_a_row(*pieces[1:]))
    return any_of(ways)


def _name(part: str) -> str:
    """A terminal name for a piece of a written form, distinct for distinct capitals."""
    return "".join(
        f"U{c}" if c.isupper() else c.upper() if c.isalpha() else f"X{ord(c)}" for c in part
    )


def written_forms(word: str, vocabulary: Vocabulary | None = None) -> tuple[str, ...]:
    """Every way in which a word of normalised text may be written."""
    vocabulary = vocabulary or in_force()
    known = vocabulary.words.get(word)
    forms = (*known.written, word) if known is not None else (word,)
    return tuple(dict.fromkeys((*forms, *(_capital(form) for form in forms))))


def written(
    normal: str, choose: Callable[[Sequence[str]], str], vocabulary: Vocabulary | None = None
) -> str:
    """One way of writing a normalised phrase; ``choose`` picks among the forms of each word."""
    contracted = normal
    for short, long in CONTRACTIONS.items():
        contracted = re.sub(rf"\b{long}\b", _either(choose, long, short), contracted)
    parts: list[str] = []
    for word in contracted.split(" "):
        if parts:
            parts.append(choose(SEPARATORS))
        if re.fullmatch(r"[a-z]+", word):
            parts.append(choose(written_forms(word, vocabulary)))
        else:
            parts.append(word)
    return "".join(parts) + choose(CLOSINGS)


def _either(
    choose: Callable[[Sequence[str]], str], long: str, short: str
) -> Callable[[re.Match[str]], str]:
    return lambda _: choose((long, short))


def _capital(form: str) -> str:
    return form[:1].upper() + form[1:]


def _alternatives(forms: Sequence[str]) -> str:
    """A regular expression for any of the forms, longest first."""
    ordered = sorted(forms, key=lambda form: (-len(form), form))
    return "|".join(re.escape(form).replace(r"\ ", " ").replace(r"\-", "-") for form in ordered)
