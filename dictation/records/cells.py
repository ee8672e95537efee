"""Cells of a CSV file: unknown is empty, a number is a number, and text cannot act as a formula."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence
from datetime import date
from enum import StrEnum

Cell = str | int | float | bool | date | None

QUOTE = "'"
"""Put before text that a spreadsheet would take for a formula, and taken off again on reading."""

_ACTIVE = ("=", "+", "-", "@", "\t", "\r", QUOTE)


def text_cell(text: str) -> str:
    """Text that no spreadsheet runs: with an apostrophe before one of = + - @ tab, return or '.

    An apostrophe itself is doubled that way, so that ``plain_text`` gives back what was written.
    """
    return QUOTE + text if text.startswith(_ACTIVE) else text


def plain_text(cell: str) -> str:
    """The text that ``text_cell`` was given."""
    return cell[1:] if cell.startswith(QUOTE) else cell


def cell(value: Cell) -> str:
    """A value as it stands in the file: decimal point, ISO 8601 dates, true and false."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, StrEnum):
        return str(value)
    if isinstance(value, int | float):
        return f"{value:g}" if isinstance(value, float) and abs(value) < 1e6 else str(value)
    if isinstance(value, date):
        return value.isoformat()
    return text_cell(value)


def table(header: Sequence[str], rows: Iterable[Sequence[Cell]]) -> bytes:
    """A whole file after RFC 4180: CRLF, quotes where needed, UTF-8."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(header)
    for row in rows:
        writer.writerow([cell(value) for value in row])
    return out.getvalue().encode("utf-8")
