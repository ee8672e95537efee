"""A finding as it would be spoken: for the read-back, and the other half of 'what is said is read'.

For every finding that the grammar can express, ``parse(say(finding))`` gives the finding again.
"""

from __future__ import annotations

from datetime import date
from enum import StrEnum

from grammar.exam import digits_of
from grammar.fields import MM, SCORE, Field, Form
from grammar.findings import (
    Animal,
    Finding,
    Landmark,
    OvarianStructure,
    Ovary,
    Plan,
    Pregnancy,
    StatedAs,
    UterineState,
    Uterus,
)
from grammar.numbers import DAYS_IN_MONTH, DAYS_IN_WEEK, MONTHS, ORDINALS, TEENS, TENS, UNITS
from grammar.vocabulary import built_in
from grammar.wording import Manner, phrases, spaced, treated

MOST_SAID = 5
"""Digits of a printed number that are said: common practice, no source."""

_SMALL = {n: w for w, n in {**UNITS, **TEENS, **TENS}.items()}
_ORDINAL_WORDS = {n: w for w, n in ORDINALS.items()}
_MONTH_WORDS = {n: w for w, n in MONTHS.items()}
_DIGIT_WORDS = {0: "oh", **{n: w for w, n in UNITS.items()}}


def say_number(number: float) -> str:
    """1 to 999: 22 is "twenty two", 105 "a hundred and five", 2.4 "two point four"."""
    whole = int(number)
    decimals = f"{number:.2f}".split(".")[1].rstrip("0")
    if decimals:
        return f"{say_number(whole)} point {' '.join(_DIGIT_WORDS[int(d)] for d in decimals)}"
    if whole in _SMALL:
        return _SMALL[whole]
    if whole == 0:
        return "zero"
    if whole < 100:
        return f"{_SMALL[whole - whole % 10]} {_SMALL[whole % 10]}"
    hundreds, rest = divmod(whole, 100)
    head = "a hundred" if hundreds == 1 else f"{_SMALL[hundreds]} hundred"
    return head if rest == 0 else f"{head} and {say_number(rest)}"


def say_digits(digits: str) -> str:
    """A tag digit by digit."""
    return " ".join(_DIGIT_WORDS[int(d)] for d in digits)


def say_day(day: date) -> str:
    """Day and month: "the tenth of march"."""
    number = day.day
    if number in _ORDINAL_WORDS:
        word = _ORDINAL_WORDS[number]
    else:
        word = f"{_SMALL[number - number % 10]} {_ORDINAL_WORDS[number % 10]}"
    return f"the {word} of {_MONTH_WORDS[day.month]}"


def say(finding: Finding) -> str:
    """The phrase for one finding, in normalised words."""
    return " ".join(words for _, words in phrases(finding, _ALOUD))


_TERMS = {name: forms[0] for name, forms in built_in().terms.items()}
_UNITS = {MM: _TERMS["millimetres"], SCORE: ""}


def _form(row: Field) -> Form:
    return row.written if row.spoken is None else row.spoken


def _in_words(value: object, unit: str) -> str:
    if isinstance(value, StrEnum):
        return _TERMS.get(value, spaced(value))
    if isinstance(value, date):
        return say_day(value)
    if isinstance(value, int | float):
        return f"{say_number(value)} {_UNITS.get(unit, unit)}".strip()
    return str(value)


def _animal(finding: Animal) -> str:
    if finding.electronic_id is not None:
        return f"{_TERMS['electronic_word']} {say_digits(digits_of(finding.electronic_id))}"
    if finding.tag is None:
        return _TERMS["tag_missing"]
    if finding.tag_alone:
        return _tag(finding.tag)
    word = _TERMS[finding.animal_class or "animal_word"]
    if finding.tag_colour is not None:
        word = f"{finding.tag_colour} {_TERMS['tag_word']}"
    return f"{word} {_tag(finding.tag)}"


def _tag(tag: str) -> str:
    """Its digits; of a printed number with letters or spaces the last, as they are said."""
    digits = digits_of(tag)
    return say_digits(digits if digits == tag else digits[-MOST_SAID:])


_SEVERAL = {
    OvarianStructure.CORPUS_LUTEUM: "corpora_lutea",
    OvarianStructure.FOLLICLE: "follicles",
    OvarianStructure.CYST: "cysts",
}


def _structure(finding: Ovary) -> str | None:
    several = _SEVERAL.get(finding.structure) if finding.count else None
    return None if several is None else _TERMS[several]


def _uterus(finding: Uterus) -> str | None:
    alone = finding.side is None and finding.state is UterineState.CLEAR
    return _TERMS["uterus_word"] if alone else None


_DAYS_IN = {StatedAs.WEEKS: DAYS_IN_WEEK, StatedAs.MONTHS: DAYS_IN_MONTH}


def say_age(age_days: int, stated_as: StatedAs | None) -> str:
    """An age in the unit in which it was stated; days where it is no whole or half unit."""
    if stated_as is None:
        return say_number(age_days)
    size = _DAYS_IN.get(stated_as, 1)
    whole, rest = divmod(age_days, size)
    if rest == 0:
        return f"{say_number(whole)} {stated_as}"
    if whole and age_days == int((whole + 0.5) * size + 0.5):
        return f"{say_number(whole)} and a half {stated_as}"
    return f"{say_number(age_days)} days"


def _status(finding: Pregnancy) -> str | None:
    return "" if finding.status_assumed else None


def _carrying(finding: Pregnancy) -> str | None:
    assumed = finding.status_assumed and finding.side is not None
    return f"carrying {finding.side}" if assumed else None


def _about(finding: Pregnancy) -> str | None:
    # a range is about by itself
    return None if finding.age_days is not None and finding.age_to_days is None else ""


def _age(finding: Pregnancy) -> str:
    if finding.age_days is None:
        return ""
    if finding.age_to_days is None:
        return say_age(finding.age_days, finding.stated_as)
    first = say_number(finding.age_days // _DAYS_IN.get(finding.stated_as or StatedAs.DAYS, 1))
    return f"{first} to {say_age(finding.age_to_days, finding.stated_as)}"


_ALOUD = Manner(
    form=_form,
    in_words=_in_words,
    exceptions={
        (Animal, "tag"): _animal,
        (Ovary, "structure"): _structure,
        (Uterus, "side"): _uterus,
        (Pregnancy, "status"): _status,
        (Pregnancy, "side"): _carrying,
        (Pregnancy, "approximate"): _about,
        (Pregnancy, "age_days"): _age,
        (Pregnancy, "age_to_days"): lambda _: "",
        (Plan, "action"): treated,
    },
    first={Pregnancy: frozenset({"status", "side"}), Landmark: frozenset({"fetus", "seen"})},
    without_units=lambda finding: getattr(finding, "unit_assumed", False),
    terms=_TERMS,
)
