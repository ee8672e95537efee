"""One value of a finding, put right where it stands: '26', 'right', 'follicle', '6 weeks'.

What is typed names the value alone; all else of the finding stays as it was said.
"""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date
from enum import StrEnum
from typing import Any, cast

from dictation.errors import WrongUseError
from grammar.exam import RecordedFinding
from grammar.fields import (
    DAYS,
    FIELDS,
    Field,
    identity_of,
    known,
    main_of,
    numbers_of,
    on_side,
    usual,
    with_value,
)
from grammar.findings import Animal, Command, CommandName, Finding, Note, Ovary, Pregnancy, StatedAs
from grammar.parse import parse
from grammar.plausible import of_ovary
from grammar.say import say
from grammar.short_forms import spelled_out
from grammar.vocabulary import in_force
from grammar.wording import spaced, written

_BETWEEN_NUMBERS = re.compile(r"\s+(?:by|x)\s+|\s*,\s*", re.IGNORECASE)


def with_one_value(finding: Finding, text: str, on: date | None) -> Finding:
    """The finding with the value that was typed. Raises WrongUseError with what to type instead."""
    if isinstance(finding, Note):
        return Note(re.sub(r"^note\s+", "", text))
    if isinstance(finding, Animal):
        if text.isascii() and text.isdigit():
            return replace(finding, tag=text, listed=None)
        raise WrongUseError(f"'{text}' is no tag: give its digits.")
    typed = spelled_out(text.removeprefix("in "))
    now = _word(finding, typed, on) or _numbers(finding, text) or _phrase(finding, typed, on)
    if not _can_be_said(now, on):
        raise WrongUseError(f"'{written(now)}' is no finding: type the whole of it.")
    return now


def _word(finding: Finding, typed: str, on: date | None) -> Finding | None:
    """A side, or another word of a field: a structure, a state, a sex."""
    side = _command(f"make that {typed}")
    if side is not None and side.side is not None:
        turned = on_side(finding, side.side)
        if turned is None:
            raise WrongUseError(f"'{written(finding)}' has no side.")
        return turned
    terms = in_force().terms
    for row in FIELDS[type(finding)]:
        for value in row.holds if issubclass(row.holds, StrEnum) else ():
            if {typed, f"{typed} calf"} & {spaced(value), *terms.get(value, ())}:
                return _with_word(finding, row, value, on)
    return None


def _with_word(finding: Finding, row: Field, value: StrEnum, on: date | None) -> Finding:
    """What cannot stand beside the new word goes: an ovary called static has no size."""
    now = _set(finding, {row.name: value})
    sized = not isinstance(now, Ovary) or of_ovary(now) is not None
    if sized and _can_be_said(now, on):
        return now
    kind: type = type(finding)
    bare = usual(kind)
    kept = {each.name for each in FIELDS[kind] if each.tells_apart} | {row.name}
    return _set(now, {name: usually for name, usually in bare.items() if name not in kept})


def _numbers(finding: Finding, text: str) -> Finding | None:
    """The first numbers of the finding, as many as were typed; one where there was none yet."""
    said = [
        _command(f"make that {part}") or _command(part)
        for part in map(spelled_out, _BETWEEN_NUMBERS.split(text))
    ]
    new = [each.number for each in said if each is not None and each.number is not None]
    if len(new) != len(said):
        return None
    rows = [row for row, _ in numbers_of(finding)] or _first_number(finding)
    if len(new) > len(rows):
        raise WrongUseError(f"'{written(finding)}' has no number for '{text}'.")
    if isinstance(finding, Pregnancy) and finding.stated_as in (StatedAs.WEEKS, StatedAs.MONTHS):
        raise WrongUseError(f"It was said in {finding.stated_as}: type '6 weeks' or '42 days'.")
    if isinstance(finding, Ovary) and finding.count and not numbers_of(finding) and text.isdigit():
        raise WrongUseError(f"How many, or how large? Type '{text} mm' or how many of what.")
    for row, value in zip(rows, new, strict=False):
        changed = with_value(finding, row.name, value)
        if changed is None:
            raise WrongUseError(f"'{text}': only a whole number fits here.")
        finding = changed
    return finding


def _first_number(finding: Finding) -> list[Field]:
    return [row for row in FIELDS[type(finding)] if row.unit][:1]


def _phrase(finding: Finding, typed: str, on: date | None) -> Finding:
    """What is said of the same kind is put into it; one finding of another kind stands instead."""
    reading = parse(typed, on)
    found = [each for each in reading.findings if not isinstance(each, Command)]
    if len(found) != 1 or reading.others:
        many = "is more than one finding" if len(found) > 1 else "is not read"
        raise WrongUseError(f"'{typed}' {many}: type the one value, as '26' or 'right'.")
    (now,) = found
    if isinstance(now, Pregnancy) and now.status_assumed and not isinstance(finding, Pregnancy):
        return _in_days(finding, now.age_days, typed)
    if type(now) is not type(finding):
        return now
    said: dict[str, Any] = {n: value for n, value in known(now).items() if value is not None}
    if isinstance(now, Pregnancy) and now.status_assumed:
        own = ("age_days", "age_to_days", "stated_as", "side", "approximate")
        said = {n: said[n] for n in own if n in said}
        said.setdefault("age_to_days", None)
    return _set(finding, said)


def _in_days(finding: Finding, days: int | None, typed: str) -> Finding:
    """'6 weeks' by itself is a number of days of whatever is counted in days."""
    row = next((r for r in FIELDS[type(finding)] if r.unit.startswith(DAYS)), None)
    now = None if row is None or days is None else with_value(finding, row.name, days)
    if now is None:
        raise WrongUseError(f"'{written(finding)}' is not counted in days: '{typed}' does not fit.")
    return now


def _set(finding: Finding, values: dict[str, Any]) -> Finding:
    return cast("Finding", replace(cast("Any", finding), **values))


def _command(text: str) -> Command | None:
    """The number or side that is said by itself."""
    said = [s.what for s in parse(text).said]
    one = said[0] if len(said) == 1 else None
    named = (CommandName.CHANGE, CommandName.SIZE)
    return one if isinstance(one, Command) and one.name in named else None


def _can_be_said(finding: Finding, on: date | None) -> bool:
    """Whether it is a finding of the language at all: no 'nothing 22 mm'."""
    if isinstance(finding, Animal):
        return True
    again = parse(say(finding), on).findings
    return len(again) == 1 and written(again[0]) == written(finding)


def standing_for(standing: tuple[RecordedFinding, ...], finding: Finding) -> RecordedFinding | None:
    """The one finding for which another is likely meant: the same, of its side; None if not one."""
    same = [r for r in standing if identity_of(r.finding) == identity_of(finding)]
    alike = [r for r in same if main_of(r.finding) is main_of(finding)]
    return alike[0] if len(alike) == 1 else None
