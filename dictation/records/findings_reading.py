"""A row of findings.csv back to the finding that it was written from, or the column in error."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from enum import StrEnum
from typing import cast

from dictation.records.old_details import is_old, renewed
from grammar.fields import DETAIL, FIELDS, Field, Value, usual
from grammar.findings import FINDING_NAMES, Finding


class CellError(ValueError):
    """A cell that no finding is written as. ``column``: which one."""

    def __init__(self, column: str, what: str) -> None:
        super().__init__(what)
        self.column = column


@dataclass(frozen=True, slots=True)
class Cells:
    """What a row says of the finding itself."""

    side: str
    detail: str
    value: str
    unit: str
    fetus: str


def read_finding(name: str, cells: Cells) -> Finding:
    """The finding of a row. Raises CellError."""
    kind = next((kind for kind, word in FINDING_NAMES.items() if word == name), None)
    if kind is None:
        raise CellError("finding", f"'{name}' is no finding")
    if is_old(kind, cells.detail, cells.unit):
        detail, unit = renewed(kind, cells.detail, cells.unit)
        cells = replace(cells, detail=detail, unit=unit)
    by_key = {row.key: row for row in FIELDS[kind] if row.column == DETAIL}
    values = dict(usual(kind))
    for row, text in (*_pairs(by_key, cells.detail), *_columns(kind, cells)):
        values[row.name] = _value(row, text)
    for row in FIELDS[kind]:
        if row.name not in values:
            what = f"{row.key}= is missing" if row.column == DETAIL else "is empty"
            raise CellError(row.column, what)
    return cast("Finding", kind(**values))


def _pairs(by_key: dict[str, Field], detail: str) -> list[tuple[Field, str]]:
    found: dict[str, str] = {}
    while detail:
        key, equals, detail = detail.partition("=")
        if not equals or key not in by_key or key in found:
            raise CellError("detail", f"'{key}' cannot be read; known: {', '.join(by_key)}")
        # The words of a note may hold anything: what is alone in its cell takes all of it.
        found[key], _, detail = detail.partition("; ") if len(by_key) > 1 else (detail, "", "")
    return [(by_key[key], text) for key, text in found.items()]


def _columns(kind: type, cells: Cells) -> list[tuple[Field, str]]:
    """The cells that have a column of their own."""
    by_column = {row.column: row for row in FIELDS[kind]}
    found = []
    for column in ("side", "value", "fetus"):
        text: str = getattr(cells, column)
        row = by_column.get(column)
        if text and row is None:
            raise CellError(column, f"{FINDING_NAMES[kind]} has none, and here is '{text}'")
        if text and row is not None:
            found.append((row, text))
            if column == "value" and cells.unit != row.unit:
                raise CellError("unit", f"'{cells.unit}' is not {row.unit}")
    return found


def _value(row: Field, text: str) -> Value:
    if issubclass(row.holds, StrEnum):
        try:
            return row.holds(text)
        except ValueError as error:
            known = ", ".join(row.holds)
            raise CellError(row.column, f"'{text}' is none of {known}") from error
    if row.holds is bool:
        if text not in {"true", "false"}:
            raise CellError(row.column, f"'{text}' is neither true nor false")
        return text == "true"
    if row.holds is date:
        try:
            return date.fromisoformat(text)
        except ValueError as error:
            raise CellError(row.column, f"'{text}' is no date like 2026-11-18") from error
    if row.holds is int:
        return whole(text, row.column)
    return number(text, row.column) if row.holds is float else text


def number(text: str, column: str) -> float:
    """A number with a decimal point. Raises CellError."""
    try:
        read = float(text)
    except ValueError as error:
        raise CellError(column, f"'{text}' is no number with a decimal point") from error
    if not -1e6 < read < 1e6:
        raise CellError(column, f"'{text}' is out of range")
    return read


def whole(text: str, column: str) -> int:
    """A whole number. Raises CellError."""
    read = number(text, column)
    if read != int(read):
        raise CellError(column, f"'{text}' is no whole number")
    return int(read)
