"""A herd list in XLSX: its sheet of animals as text, read without running anything."""

from __future__ import annotations

import io
from pathlib import Path
from typing import TYPE_CHECKING, Any

from dictation.errors import BadInputError
from dictation.gate import gate
from dictation.records.herd.layout import header_of, known_as
from dictation.records.herd.other_workbooks import sheets_of, text_of
from dictation.records.herd.sheet import LONGEST_CELL, Sheet, stop_at_too_many

if TYPE_CHECKING:
    from openpyxl.workbook import Workbook

MOST_UNPACKED_BYTES = 256 * 2**20
MOST_PARTS = 2_000
"""Of the packed files in a workbook. What they say of their length is as much as is unpacked."""

ZIP = b"PK\x03\x04"
AGAIN = "save the herd list as XLSX or CSV again"


def workbook_sheet(path: Path, content: bytes) -> Sheet:
    """Rows of the sheet of animals; where none looks like one, of the first with content.

    Raises BadInputError where the file is no workbook, or two sheets could be meant.
    """
    with gate(path, AGAIN):
        _stop_at_too_much(path, content)
        return _sheet(path, content)


def _stop_at_too_much(path: Path, content: bytes) -> None:
    """A few kilobytes can unpack to gigabytes."""
    from zipfile import ZipFile

    with ZipFile(io.BytesIO(content)) as packed:
        parts = packed.infolist()
    if len(parts) > MOST_PARTS or sum(part.file_size for part in parts) > MOST_UNPACKED_BYTES:
        raise BadInputError(
            f"{path} unpacks to more than {MOST_UNPACKED_BYTES / 2**20:.0f} MiB, or to more than"
            f" {MOST_PARTS} parts: {AGAIN}."
        )


def _sheet(path: Path, content: bytes) -> Sheet:
    shown, written = _opened(content, True), _opened(content, False)
    try:
        visible = [name for name in shown.sheetnames if shown[name].sheet_state == "visible"]
        sheets = {name: Sheet(tuple(_rows(path, name, shown[name]))) for name in visible}
        filled = {name: sheet for name, sheet in sheets.items() if sheet.rows}
        if not filled:
            return Sheet(())
        name = _meant(path, filled)
        _stop_at_formulas(path, name, shown[name], written[name])
        return filled[name]
    finally:
        shown.close()
        written.close()


def other_sheet(path: Path, content: bytes) -> Sheet:
    """The same of a workbook of another kind (ODS, XLS)."""
    with gate(path, AGAIN):
        if content.startswith(ZIP):
            _stop_at_too_much(path, content)
        sheets = sheets_of(path, content)
    for sheet in sheets.values():
        stop_at_too_many(path, len(sheet.rows), sum(len(cells) for _, cells in sheet.rows))
    filled = {name: sheet for name, sheet in sheets.items() if sheet.rows}
    return filled[_meant(path, filled)] if filled else Sheet(())


def _meant(path: Path, sheets: dict[str, Sheet]) -> str:
    """The one sheet whose header names animals; reading one of two would lose the other's."""
    known = {
        name: {known_as(heading) for heading in header_of(sheet)[1]} - {None}
        for name, sheet in sheets.items()
    }
    # A tag alone may be any number in a heading; a tag and more is a list of animals.
    lists = [name for name in sheets if "tag" in known[name] and len(known[name]) > 1]
    lists = lists or [name for name in sheets if "tag" in known[name]]
    if len(lists) > 1:
        raise BadInputError(
            f"{path}: sheets {' and '.join(lists)} both hold animals. Put them into one sheet, or"
            " save the one that is meant as a file of its own."
        )
    return lists[0] if lists else next(iter(sheets))


def _opened(content: bytes, values: bool) -> Workbook:
    from openpyxl import load_workbook

    # read_only: a huge or hostile workbook is never held whole.
    return load_workbook(io.BytesIO(content), read_only=True, data_only=values)


def _rows(path: Path, name: str, shown: Any) -> list[tuple[int, tuple[str, ...]]]:
    rows: list[tuple[int, tuple[str, ...]]] = []
    count = 0
    for line, values in enumerate(shown.iter_rows(), start=1):
        count += len(values)
        stop_at_too_many(path, line, count)
        cells = [_text(value) for value in values]
        if any(len(cell) > LONGEST_CELL for cell in cells):
            raise BadInputError(
                f"{path}, sheet {name}, line {line}: a cell is longer than {LONGEST_CELL}"
                f" characters: {AGAIN}."
            )
        while cells and not cells[-1]:
            cells.pop()
        if cells:
            rows.append((line, tuple(cells)))
    # A spreadsheet leaves empty cells at the end of a row away.
    widest = max((len(cells) for _, cells in rows), default=0)
    return [(line, cells + ("",) * (widest - len(cells))) for line, cells in rows]


def _stop_at_formulas(path: Path, name: str, shown: Any, written: Any) -> None:
    both = zip(shown.iter_rows(), written.iter_rows(), strict=True)
    for line, (values, sources) in enumerate(both, start=1):
        for place, (value, source) in enumerate(zip(values, sources, strict=True), start=1):
            if value.value is None and isinstance(source.value, str) and source.value[:1] == "=":
                raise BadInputError(
                    f"{path}, sheet {name}, line {line}, column {place}: a formula without its"
                    " value; open the list in the spreadsheet, save it, and try again."
                )


def _text(cell: Any) -> str:
    text = text_of(cell.value)
    # Zeros before a number are only there by its format: 0412 stored as 412 shown as 0000.
    shown = cell.number_format if isinstance(cell.value, int | float) else None
    return text.zfill(len(shown)) if shown and set(shown) == {"0"} else text
