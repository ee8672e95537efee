"""Cells of a CSV file: unknown is empty, a number is a number, and text cannot act as a formula."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Sequence
from datetime import date
from enum import StrEnum

Cell = str | int | float | bool | date | None

QUOTE = "'"
"""Put before text that a spreadsheet would take for a formula, and taken off again on reading."""

_CHANGED = re.compile(
    r"0[0-9]+"  # 0412 would become 412
    r"|[0-9]{16,}"  # digits past the fifteenth would become zeros
    r"|(?i:true|false)"
    r"|(?=.*[0-9])(?![0-9]+(\.[0-9]+)?$)[0-9.,:/%\s-]+(?i:e[+-]?[0-9]+|am|pm)?"  # 3/4, 1e5, 9:30
)
"""Text that a spreadsheet would take for another value than its letters."""

_ACTIVE = ("=", "+", "-", "@", "\t", "\r", QUOTE)


def text_cell(text: str) -> str:
    """Text that no spreadsheet runs or changes: with an apostrophe before it where one would.

    That is before = + - @ tab, return or ', and before a tag with leading zeros. An apostrophe
    itself is doubled that way, so that ``plain_text`` gives back what was written.
    """
    changed = text.startswith(_ACTIVE) or _CHANGED.fullmatch(text) is not None
    return QUOTE + text if changed else text


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
        return f"{value:.10g}" if isinstance(value, float) and abs(value) < 1e6 else str(value)
    if isinstance(value, date):
        return value.isoformat()
    return text_cell(value)


def table(header: Sequence[str], rows: Iterable[Sequence[Cell]]) -> bytes:
    """A whole file after RFC 4180: CRLF, quotes where needed, UTF-8."""
    return table_rows([header, *rows])


def table_rows(rows: Iterable[Sequence[Cell]]) -> bytes:
    """Some rows of such a file."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerows([cell(value) for value in row] for row in rows)
    return out.getvalue().encode("utf-8")
