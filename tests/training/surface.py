"""Normalised trade phrases as they are said to a synthesiser, and as the model is to write them.

The written form follows the original model's own habits, heard on 140 sentences of three voices: a
sentence with a capital and a full stop, numbers in hyphenated words about twice as often as in
digits, decimals in digits, letters as capitals, American spelling.
"""

from __future__ import annotations

import random
import re

from grammar.normalise import CONTRACTIONS, normalise
from grammar.numbers import TEENS, TENS, UNITS, ZERO
from grammar.vocabulary import built_in

DIGITS_SHARE = 0.35
USUAL_FORM_SHARE = 0.85
PAUSE_SHARE = 0.45
CONTRACTED_SHARE = 0.5
_TAG_WORDS = {"cow", "tag", "heifer", "number", "animal"}
_NUMBER_WORDS = {*UNITS, *TEENS, *TENS, *ZERO, "hundred", "point"}
#: Where a speaker draws breath inside a phrase: between a word of the first kind and these.
_PAUSES = re.compile(
    r"\b(?!(?:no|not|the|good|on|both|and)\b)([a-z]+) (?=(?:left|right) (?:ovary|horn)\b|uterus\b"
    r"|cervix\b|recheck\b|crown\b|heartbeat\b|pregnant\b|in calf\b|open\b|empty\b|movement\b"
    r"|male\b|female\b|bull calf\b|heifer calf\b)"
)
_AFTER_VALUE = re.compile(
    r"\b([a-z]*(?:ovary|teen|ty|one|two|three|four|five|six|seven|eight|nine|ten|eleven|twelve|mil"
    r"|metres)) (?=(?:cl|follicle|cyst|luteal|corpus|wall|with a cavity)\b)"
)
#: Spellings that American synthesisers pronounce.
_SAID = {
    "mil": "mill",
    "oedema": "edema",
    "haemorrhagicum": "hemorrhagicum",
    "oestrous": "estrous",
    "anoestrus": "an estrus",
    "tumour": "tumor",
    "luteinised": "luteinized",
    "synchronise": "synchronize",
    "programme": "program",
    "pyo": "pie oh",
}
_AMERICAN = {
    "millimetres": "millimeters",
    "millimetre": "millimeter",
    "centimetres": "centimeters",
    "centimetre": "centimeter",
}


def shape(normal: str, rng: random.Random) -> str:
    """The phrase with contractions, and commas where breath is drawn; still in small letters."""
    text = normal
    for short, long in CONTRACTIONS.items():
        if rng.random() < CONTRACTED_SHARE:
            text = re.sub(rf"\b{long}\b", short, text)
    for pause in (_PAUSES, _AFTER_VALUE):
        text = pause.sub(lambda m: m[1] + (", " if rng.random() < PAUSE_SHARE else " "), text)
    return text


def spoken(shaped: str) -> str:
    """Text for a synthesiser: letters apart, spellings that it pronounces."""
    return re.sub(r"[a-z']+", lambda m: _said(m.group(0)), shaped)


def _said(word: str) -> str:
    if word in _SAID:
        return _SAID[word]
    known = built_in().words.get(word)
    if known is not None and word not in {"i", "dim", "oh", "mm", "cm"}:
        apart = [f for f in known.written if re.fullmatch(r"[A-Z]( [A-Z])+", f)]
        if apart:
            return apart[0]
        if word == "cls":
            return "C L's"
    return word


def written(shaped: str, rng: random.Random) -> str:
    """Text for the model to write; it normalises to the phrase that was shaped."""
    pieces = re.findall(r"[a-z']+|,", shaped)
    out: list[str] = []
    at = 0
    while at < len(pieces):
        run = at
        while run < len(pieces) and _numeric(pieces, run, at):
            run += 1
        if run > at:
            tag = any(p in _TAG_WORDS for p in pieces[max(0, at - 2) : at])
            out.append(_number(pieces[at:run], tag, rng))
            at = run
        else:
            out.append(_word(pieces[at], out, rng))
            at += 1
    text = " ".join(out).replace(" ,", ",")
    return f"{text[:1].upper()}{text[1:]}."


def _numeric(pieces: list[str], at: int, begin: int) -> bool:
    word = pieces[at]
    if word in _NUMBER_WORDS:
        return word not in {"hundred", "point"} or at > begin
    following = pieces[at + 1 : at + 2]
    if word == "a":
        return at == begin and following == ["hundred"]
    return (
        word == "and"
        and at > begin
        and pieces[at - 1] == "hundred"
        and bool(following and following[0] in _NUMBER_WORDS)
    )


def _word(word: str, before: list[str], rng: random.Random) -> str:
    if word in _AMERICAN:
        if before and before[-1][-1:].isdigit() and rng.random() < 0.5:
            return "mm" if word.startswith("m") else "cm"
        return _AMERICAN[word] if rng.random() < 0.7 else word
    known = built_in().words.get(word)
    if known is None or word in {"mil", "oh", "heartbeat", "follicle"}:
        return word
    forms = [f for f in known.written if not re.fullmatch(r"[A-Za-z]( [A-Za-z])+", f)] or [word]
    return forms[0] if rng.random() < USUAL_FORM_SHARE else rng.choice(forms)


def _number(words: list[str], tag: bool, rng: random.Random) -> str:
    digits = in_digits(words)
    joined = digits is not None and (tag or (len(digits) == 1 and words != ["one"]))
    share = 0.8 if "point" in words else DIGITS_SHARE
    if digits is not None and joined and rng.random() < share:
        return "".join(digits)
    return re.sub(rf"\b({'|'.join(TENS)}) ({'|'.join(UNITS)})\b", r"\1-\2", " ".join(words))


def in_digits(words: list[str]) -> list[str] | None:
    """The numbers spoken in a row of number words, each in digits; None where it is no number."""
    text = " ".join(words)
    if "point" in words:
        whole, _, rest = text.partition(" point ")
        head = in_digits(whole.split())
        tail = [UNITS.get(w, ZERO.get(w)) for w in rest.split()]
        if head is None or len(head) != 1 or not tail or None in tail:
            return None
        return [f"{head[0]}.{''.join(str(d) for d in tail)}"]
    found: list[str] = []
    at = 0
    while at < len(words):
        value, used = _one_number(words[at:])
        if not used:
            return None
        found.append(value)
        at += used
    return found


def _one_number(words: list[str]) -> tuple[str, int]:
    """The first number of a row in digits, and how many words it takes; none: "", 0."""
    first = words[0]
    if len(words) > 1 and words[1] == "hundred":
        hundreds = 100 * UNITS.get(first, 1)
        rest = words[3:] if words[2:3] == ["and"] else words[2:]
        skipped = len(words) - len(rest)
        if rest and (rest[0] in UNITS or rest[0] in TEENS or rest[0] in TENS):
            value, used = _one_number(rest)
            return str(hundreds + int(value)), skipped + used
        return (str(hundreds), 2) if words[2:3] != ["and"] else ("", 0)
    if first in TENS:
        if len(words) > 1 and words[1] in UNITS:
            return str(TENS[first] + UNITS[words[1]]), 2
        return str(TENS[first]), 1
    for table in (UNITS, TEENS, ZERO):
        if first in table:
            return str(table[first]), 1
    return "", 0


def agrees(normal: str, text: str) -> bool:
    """A written form without digits reads back as the phrase it stands for."""
    return any(c.isdigit() for c in text) or normalise(text) == normal
