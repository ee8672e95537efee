"""A herd list in XLSX: the first sheet that holds anything, as text, read without running it."""

from __future__ import annotations

import io
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from dictation.errors import BadInputError
from dictation.records.herd.sheet import Sheet

if TYPE_CHECKING:
    from openpyxl.workbook import Workbook

MOST_ROWS = 200_000


def workbook_sheet(path: Path, content: bytes) -> Sheet:
    """Rows of the first sheet with content. Raises BadInputError where the file is no workbook."""
    shown, written = _opened(path, content, True), _opened(path, content, False)
    try:
        for name in shown.sheetnames:
            rows = _rows(path, name, shown[name], written[name])
            if rows:
                return Sheet(tuple(rows))
    finally:
        shown.close()
        written.close()
    return Sheet(())


def _opened(path: Path, content: bytes, values: bool) -> Workbook:
    from zipfile import BadZipFile

    from openpyxl import load_workbook

    try:
        # read_only: a huge or hostile workbook is never held whole.
        return load_workbook(io.BytesIO(content), read_only=True, data_only=values)
    except (BadZipFile, KeyError, ValueError, OSError, EOFError) as error:
        raise BadInputError(
            f"{path} cannot be read as a workbook; save the herd list as XLSX or CSV again."
        ) from error


def _rows(path: Path, name: str, shown: Any, written: Any) -> list[tuple[int, tuple[str, ...]]]:
    rows: list[tuple[int, tuple[str, ...]]] = []
    for line, (values, sources) in enumerate(
        zip(shown.iter_rows(), written.iter_rows(), strict=True), start=1
    ):
        if line > MOST_ROWS:
            raise BadInputError(f"{path}, sheet {name}: more than {MOST_ROWS} rows.")
        cells = []
        for place, (value, source) in enumerate(zip(values, sources, strict=True), start=1):
            if value.value is None and isinstance(source.value, str) and source.value[:1] == "=":
                raise BadInputError(
                    f"{path}, sheet {name}, line {line}, column {place}: a formula without its"
                    " value; open the list in the spreadsheet, save it, and try again."
                )
            cells.append(_text(value))
        while cells and not cells[-1]:
            cells.pop()
        if cells:
            rows.append((line, tuple(cells)))
    # A spreadsheet leaves empty cells at the end of a row away.
    widest = max((len(cells) for _, cells in rows), default=0)
    return [(line, cells + ("",) * (widest - len(cells))) for line, cells in rows]


def _text(cell: Any) -> str:
    value = cell.value
    if value is None:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, datetime):
        return (
            value.date().isoformat() if value.time() == datetime.min.time() else value.isoformat()
        )
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, int | float) and float(value).is_integer():
        digits = str(int(value))
        # Zeros before a number are only there by its format: 0412 stored as 412 shown as 0000.
        shown = cell.number_format
        return digits.zfill(len(shown)) if shown and set(shown) == {"0"} else digits
    return str(value).strip()
