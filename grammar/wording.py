"""A finding as it is written for the eye: short, with numerals and units. Speech has its own.

What a field says stands in its row (``grammar.fields``); here is how the fields are put together.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum
from typing import Any

from grammar.fields import ELSE, FIELDS, SCORE, Field, Form
from grammar.findings import (
    Animal,
    Finding,
    Ovary,
    Plan,
    PlanAction,
    Pregnancy,
    StatedAs,
    Viability,
)
from grammar.numbers import DAYS_IN_WEEK
from grammar.vocabulary import built_in


@dataclass(frozen=True, slots=True)
class Manner:
    """How findings are put into words: for the eye, or aloud.

    ``form``: the words of a row. ``in_words``: a value and the unit behind it. ``exceptions``: the
    words of fields that hang on another field of the finding, None being those of the row.
    ``first``: fields said before the others of their finding. ``without_units``: whether a
    finding's units are left out. ``terms``: the words of the vocabulary's terms.
    """

    form: Callable[[Field], Form]
    in_words: Callable[[Any, str], str]
    exceptions: Mapping[tuple[type, str], Callable[[Any], str | None]]
    first: Mapping[type, frozenset[str]] = field(default_factory=dict)
    without_units: Callable[[Finding], bool] = lambda _: False
    terms: Mapping[str, str] = field(default_factory=dict)


def phrases(finding: Finding, manner: Manner) -> Iterator[tuple[str, str]]:
    """What the fields of a finding say, by their names; without those that say nothing."""
    rows, first = FIELDS[type(finding)], manner.first.get(type(finding))
    if first is not None:
        rows = tuple(sorted(rows, key=lambda row: row.name not in first))
    unknown = {row.name for row in rows if getattr(finding, row.name) is None}
    known = [row for row in rows if row.name not in unknown]
    silent = {row.instead_of for row in known}
    continued = {row.continues for row in known}
    bare = manner.without_units(finding)
    for row in rows:
        exception = manner.exceptions.get((type(finding), row.name))
        words = None if exception is None else exception(finding)
        if words is None and row.name not in silent and row.continues not in unknown:
            unit = "" if bare or row.name in continued else row.unit
            words = _words(getattr(finding, row.name), unit, row, manner)
        if words:
            yield row.name, words


def _words(value: object, unit: str, row: Field, manner: Manner) -> str:
    form = manner.form(row)
    if not isinstance(form, str):
        other = "{}" if row.holds is not bool else ""
        form = form.get(value, "" if value is None else form.get(ELSE, other))
    elif value is None:
        return ""
    return form.format(manner.in_words(value, unit), **manner.terms) if "{" in form else form


def written(finding: Finding) -> str:
    """A finding in words and numerals: 'left ovary corpus luteum 22 mm'."""
    words = dict(phrases(finding, _FOR_THE_EYE))
    fetus = words.pop("fetus", "")
    between = ", " if isinstance(finding, Viability) else " "
    return f"{fetus} {between.join(words.values())}".strip()


def written_without_side(finding: Ovary) -> str:
    """What is on an ovary, where the side is given by its place on the page."""
    return " ".join(words for name, words in phrases(finding, _FOR_THE_EYE) if name != "side")


def how_to_answer(alternatives: int) -> str:
    """Which words answer a query with so many alternatives."""
    if alternatives == 0:
        return "say it again, or 'no' to leave it"
    if alternatives == 1:
        return "say 'yes', 'no' or 'leave it'"
    choices = ("first_choice", "second_choice", "third_choice")[:alternatives]
    words = [f"'{built_in().spoken(choice)}'" for choice in choices]
    return f"say {', '.join(words)}, 'no' or 'leave it'"


def number(value: float) -> str:
    """A number without a needless point."""
    return f"{value:g}"


def spaced(name: str) -> str:
    """A name of the contract as words."""
    return name.replace("_", " ")


def _numerals(value: object, unit: str) -> str:
    if isinstance(value, StrEnum):
        return spaced(value)
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, int | float):
        return f"{number(value)} {unit}" if unit not in {"", SCORE} else number(value)
    return str(value)


def _animal(finding: Animal) -> str:
    kind = "tag" if finding.animal_class is None else spaced(finding.animal_class)
    kind = kind if finding.tag_colour is None else f"{finding.tag_colour} {kind}"
    if finding.tag is not None:
        return f"{kind} {finding.tag}"
    if finding.electronic_id is not None:
        return f"electronic number {finding.electronic_id}"
    return "no tag" if finding.animal_class is None else kind


def _about(finding: Pregnancy) -> str | None:
    return "" if finding.age_days is None else None


def _weeks(finding: Pregnancy) -> str:
    if finding.age_days is None or finding.stated_as is not StatedAs.WEEKS:
        return ""
    weeks, rest = divmod(finding.age_days, DAYS_IN_WEEK)
    return "" if rest else f"({weeks} weeks)"


def treated(finding: Plan) -> str | None:
    """A treatment is told by its class alone."""
    told = finding.action is PlanAction.TREAT and finding.treatment_class is not None
    return "" if told else None


_FOR_THE_EYE = Manner(
    form=lambda row: row.written,
    in_words=_numerals,
    exceptions={
        (Animal, "tag"): _animal,
        (Pregnancy, "approximate"): _about,
        (Pregnancy, "stated_as"): _weeks,
        (Plan, "action"): treated,
    },
)


def either(words: Iterable[str]) -> str:
    """'Forty or fourteen?' from the words of the answers; 'Twins, clear; or cull?'."""
    *others, last = words
    comma, before = ("; ", "; or ") if any("," in w for w in (*others, last)) else (", ", " or ")
    return capital(before.join((comma.join(others), last)) if others else last) + "?"


def differing(readings: Sequence[str]) -> tuple[tuple[tuple[str, bool], ...], ...]:
    """Of several readings what tells them apart: pieces of each, and whether a piece differs.

    What all say alike is left out, but for the words around a difference.
    """
    parts = [_PART.split(words) for words in readings]
    alike = [part for part in parts[0] if all(part in other for other in parts)] if parts else []
    if any(len(other) == len(alike) for other in parts):
        alike = []
    told = [[part for part in each if part not in alike] for each in parts]
    return tuple(tuple(_pieces(each, told)) for each in told)


_PART = re.compile(r"(?:, |; )")


def _pieces(mine: list[str], every: list[list[str]]) -> Iterator[tuple[str, bool]]:
    words = [" ".join(parts).split() for parts in every]
    shared = set.intersection(*map(set, words)) if len(words) > 1 else set(words[0])
    for place, part in enumerate(mine):
        said = part.split()
        for at, word in enumerate(said):
            between = "" if at < len(said) - 1 or place == len(mine) - 1 else ";"
            space = "" if at == len(said) - 1 and place == len(mine) - 1 else " "
            yield f"{word}{between}{space}", word not in shared


def capital(words: str) -> str:
    """With a capital first letter."""
    return words[:1].upper() + words[1:]
