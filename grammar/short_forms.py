"""Short forms for typing: 'l ov cl 22' is 'left ovary cl 22 millimetres'. Never offered to speech.

Each short form stands for words that the grammar reads; none of them is a word of the grammar, so
that a phrase typed as it is spoken means what it would mean spoken. The choice is our own; none of
them has a source.
"""

from __future__ import annotations

import re
from functools import cache

from grammar.language import grammar_text
from grammar.normalise import normalise
from grammar.vocabulary import in_force

SHORT_FORMS: dict[str, str] = {
    # places
    "l": "left",
    "r": "right",
    "lov": "left ovary",
    "rov": "right ovary",
    "ov": "ovary",
    "bov": "both ovaries",
    "lh": "left horn",
    "rh": "right horn",
    "hn": "horn",
    "cx": "cervix",
    "ut": "uterus",
    "bd": "body",
    "nad": "normal",
    "ns": "not seen",
    "nr": "not reached",
    # ovaries
    "f": "follicle",
    "fol": "follicle",
    "fc": "follicular cyst",
    "lc": "luteal cyst",
    "cy": "cyst",
    "rcl": "regressing cl",
    "sf": "small follicles",
    "st": "static",
    "cav": "with a cavity",
    # uterus
    "fl": "fluid",
    "cfl": "cloudy fluid",
    "endo": "endometritis",
    "met": "metritis",
    # pregnancy
    "p": "pregnant",
    "pr": "pregnant",
    "op": "open",
    "unc": "uncertain",
    "c": "cow",
    "hf": "heifer",
    "d": "days",
    "w": "weeks",
    "wk": "weeks",
    "wks": "weeks",
    "mo": "months",
    "abt": "about",
    "sg": "single",
    "tw": "twins",
    "hb": "heartbeat",
    "nhb": "no heartbeat",
    "pla": "placentomes",
    "mfet": "male fetus",
    "ffet": "female fetus",
    # plans and condition
    "rc": "recheck",
    "bc": "condition",
    # between numbers
    "x": "by",
}
"""What may be typed, and the words that it stands for."""

_SIZED = frozenset(
    """
    cl follicle cyst tumour fluid pyometra mucometra rump diameter length width depth wall cavity
    by
    """.split()  # noqa: SIM905 - a list of words reads best as words
)
"""Behind one of these words a bare number is a size; typed without a unit it is in millimetres."""

_UNIT_OR_MORE = frozenset(
    {"by", "millimetres", "millimetre", "mil", "mils", "mm", "centimetres", "centimetre", "cm"}
)
_NUMBER = re.compile(r"[0-9]+(\.[0-9]+)?")
_TIMES = re.compile(r"(?<=[0-9])\s*[x\u00d7*]\s*(?=[0-9])", re.IGNORECASE)


def spelled_out(text: str) -> str:
    """The normalised words that a typed phrase stands for; what has no short form stays."""
    words = normalise(_TIMES.sub(" by ", text)).split()
    if words and words[0] in {"note", "remark", "comment"}:
        return " ".join(words)
    full: list[str] = []
    for place, word in enumerate(words):
        following = words[place + 1] if place + 1 < len(words) else ""
        full += _expanded(word, following).split()
    return " ".join(_with_units(full))


@cache
def short_words() -> frozenset[str]:
    """The short forms that are no words of the grammar."""
    spoken = set(re.findall(r'"([a-z]+)"', grammar_text()))
    return frozenset(word for word in SHORT_FORMS if word not in spoken)


def _expanded(word: str, following: str) -> str:
    own = in_force().short.get(word)
    if own is not None:
        return own
    if word not in short_words():
        return word
    if word == "rc" and _NUMBER.fullmatch(following):
        return "recheck in"
    return SHORT_FORMS[word]


def _with_units(words: list[str]) -> list[str]:
    out: list[str] = []
    for place, word in enumerate(words):
        out.append(word)
        following = words[place + 1] if place + 1 < len(words) else ""
        if (
            _NUMBER.fullmatch(word)
            and place > 0
            and words[place - 1] in _SIZED
            and following not in _UNIT_OR_MORE
        ):
            out.append("millimetres")
    return out
