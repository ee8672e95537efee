"""A row of findings.csv back to the finding that it was written from, or the column in error."""

from __future__ import annotations

from datetime import date
from enum import StrEnum
from typing import cast

from dictation.records.old_details import is_old, renewed
from dictation.records.rows import Row
from grammar.fields import DETAIL, FIELDS, Field, Value, usual
from grammar.findings import FINDING_NAMES, Finding


class CellError(ValueError):
    """A cell that no finding is written as. ``column``: which one."""

    def __init__(self, column: str, what: str) -> None:
        super().__init__(what)
        self.column = column


def read_finding(row: Row) -> Finding:
    """The finding of a row, from its cells 'finding' to 'fetus'. Raises CellError."""
    name = row["finding"]
    kind = next((kind for kind, word in FINDING_NAMES.items() if word == name), None)
    if kind is None:
        raise CellError("finding", f"'{name}' is no finding")
    detail, unit = row["detail"], row["unit"]
    if is_old(kind, detail, unit):
        detail, unit = renewed(kind, detail, unit)
    by_key = {field.key: field for field in FIELDS[kind] if field.column == DETAIL}
    values = dict(usual(kind))
    for field, text in (*_pairs(by_key, detail), *_columns(kind, row, unit)):
        values[field.name] = _value(field, text)
    for field in FIELDS[kind]:
        if field.name not in values:
            what = f"{field.key}= is missing" if field.column == DETAIL else "is empty"
            raise CellError(field.column, what)
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


def _columns(kind: type, row: Row, unit: str) -> list[tuple[Field, str]]:
    """The cells that have a column of their own."""
    by_column = {field.column: field for field in FIELDS[kind]}
    found = []
    for column in ("side", "value", "fetus"):
        field, text = by_column.get(column), row[column]
        if text and field is None:
            raise CellError(column, f"{FINDING_NAMES[kind]} has none, and here is '{text}'")
        if text and field is not None:
            found.append((field, text))
            if column == "value" and unit != field.unit:
                raise CellError("unit", f"'{unit}' is not {field.unit}")
    return found


def _value(field: Field, text: str) -> Value:
    if issubclass(field.holds, StrEnum):
        try:
            return field.holds(text)
        except ValueError as error:
            known = ", ".join(field.holds)
            raise CellError(field.column, f"'{text}' is none of {known}") from error
    if field.holds is bool:
        if text not in {"true", "false"}:
            raise CellError(field.column, f"'{text}' is neither true nor false")
        return text == "true"
    if field.holds is date:
        try:
            return date.fromisoformat(text)
        except ValueError as error:
            raise CellError(field.column, f"'{text}' is no date like 2026-11-18") from error
    if field.holds is int:
        return whole(text, field.column)
    return number(text, field.column) if field.holds is float else text


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
