"""exam.lark compiled for a guided recogniser: what may be written, in capitals, commas and digits.

The recogniser writes text, not normalised words: "Left ovary, C.L. 22mm." The constraint is the
same grammar with every word replaced by its written surfaces and every space by the separators that
may stand between words. Whatever it accepts normalises to a sentence of exam.lark; nothing here is
a second grammar. The one thing left out are the free words of a note.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence

from grammar.language import grammar_text
from grammar.normalise import CONTRACTIONS
from grammar.vocabulary import Vocabulary, in_force

# What a recogniser may write between two words; all normalise to one space.
SEPARATORS: tuple[str, ...] = (" ", ", ", ". ", "; ", ": ", "-", ":", " - ", "... ")
CLOSINGS: tuple[str, ...] = ("", ".", ",", "!", "?", "...")

# Of "C.L... " the form "C.L." takes the first point.
_AFTER_A_POINT = (".. ",)

_LITERAL = re.compile(r'"([a-z]+)"')
_SPACE_RULE = re.compile(r'^SP: " "$', re.MULTILINE)
# A note is any words. In the constraint it would be a way out of the grammar for everything else,
# so notes are left to the free hearing, which opens with the word 'note'.
_FREE_WORDS = re.compile(r"^ *\| note$\n|^note: NOTE_TEXT$\n", re.MULTILINE)
_TERMINALS = re.compile(r"^(N1|N2|N3|NLONG|NDEC|NORDINAL|NOTE_TEXT): .*$", re.MULTILINE)

_FUSED_UNIT = r"[1-9][0-9]{0,2}(\.[0-9]+)?(mm|cm|MM|CM)"
_FUSED_ISH = (
    r"([1-9][0-9]?|[Tt]wenty|[Tt]hirty|[Ff]orty|[Ff]ifty|[Ss]ixty|[Ss]eventy|[Ee]ighty|[Nn]inety)"
    r"ish"
)
# Numerals as they may be written. The recogniser's lexer takes the longest match and does
# not step back, so a closing point belongs to the numeral ("22." may still become "22.5").
_WRITTEN_TERMINALS = r"""
N1: /[0-9](\.|\.\.\.)?/
N2: /[1-9][0-9](\.|\.\.\.)?/
N3: /[1-9][0-9][0-9](\.|\.\.\.)?/
NLONG: /(0[0-9]+|[1-9][0-9][0-9][0-9]+)(\.|\.\.\.)?/
NDEC: /[0-9]+\.[0-9]+(\.|\.\.\.)?/
NORDINAL: /(1|2|3|21|22|23|31)(st|nd|rd|th)|([4-9]|1[0-9]|2[04-9]|30)th/
"""


def constraint(vocabulary: Vocabulary | None = None) -> str:
    """The constraint as a grammar text; its start rule is ``start``."""
    vocabulary = vocabulary or in_force()
    text = _FREE_WORDS.sub("", grammar_text(vocabulary))
    text = _TERMINALS.sub("", text)
    text = _SPACE_RULE.sub(f"SP: /{_alternatives((*SEPARATORS, *_AFTER_A_POINT))}/", text)
    text = _fused(text)
    text, contractions = _contracted(text)
    words = sorted(set(_LITERAL.findall(text)))
    text = _LITERAL.sub(lambda m: f"w_{m.group(1)}", text)
    text = text.replace("start: breath", "start: breath CLOSING?")
    closing = f"CLOSING: /{_alternatives([*(c for c in CLOSINGS if c), '..'])}/"
    definitions = [_word_rule(word, vocabulary) for word in words]
    letters = sorted(
        {
            part
            for word in words
            for form in written_forms(word, vocabulary)
            if " " in form
            for part in form.split(" ")
        }
    )
    parts = [f"P_{_name(part)}: /{_alternatives((part,))}/" for part in letters]
    return (
        "\n".join((text, _WRITTEN_TERMINALS, closing, *contractions, *definitions, *parts)) + "\n"
    )


def _word_rule(word: str, vocabulary: Vocabulary) -> str:
    """A word by its written forms. A form with a space is a sequence, not one lexeme: a lexeme
    "A I" would swallow the article of "a good CL"."""
    forms = written_forms(word, vocabulary)
    whole = _alternatives([form for form in forms if " " not in form])
    rule = f"W_{word.upper()}: /{whole}/\nw_{word}: W_{word.upper()}"
    for form in forms:
        if " " in form:
            rule += " | " + " SP ".join(f"P_{_name(part)}" for part in form.split(" "))
    return rule


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
    return "|".join(
        re.escape(form)
        .replace(r"\ ", " ")
        .replace("/", r"\/")
        .replace(r"\'", "'")
        .replace(r"\-", "-")
        .replace(r"\,", ",")
        .replace(r"\:", ":")
        .replace(r"\;", ";")
        .replace(r"\!", "!")
        for form in ordered
    )


def _fused(text: str) -> str:
    """Numeral and unit written as one: "22mm", "40ish"."""
    for number in ("small_size", "n_size"):
        text = text.replace(
            f"{number} (gap size_unit)?", f"({number} (gap size_unit)? | FUSED_UNIT)"
        )
        text = text.replace(f"{number} gap size_unit", f"({number} gap size_unit | FUSED_UNIT)")
    text = text.replace("n_age gap ish", "(n_age gap ish | FUSED_ISH)")
    return text + f"FUSED_UNIT: /{_FUSED_UNIT}/\nFUSED_ISH: /{_FUSED_ISH}/\n"


def _contracted(text: str) -> tuple[str, list[str]]:
    """Short forms offered beside the words they stand for: "she's" for "she is"."""
    definitions: list[str] = []
    for short, long in CONTRACTIONS.items():
        sequence = " SP ".join(f'"{word}"' for word in long.split())
        if " " not in long or sequence not in text:
            continue
        name = "SHORT_" + re.sub(r"[^a-z]", "", short).upper()
        text = text.replace(sequence, f"({sequence} | {name})")
        definitions.append(f"{name}: /{_alternatives((short, _capital(short)))}/")
    return text, definitions
