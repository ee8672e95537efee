"""A herd list in a workbook of the open document kind (ODS), or of the old one (XLS)."""

from __future__ import annotations

import io
from collections.abc import Sequence
from datetime import date, datetime
from pathlib import Path

from dictation.errors import BadInputError
from dictation.records.herd.sheet import Sheet

Value = object


def sheets_of(path: Path, content: bytes) -> dict[str, Sheet]:
    """The visible sheets by their names. Raises BadInputError where the file is no workbook."""
    from python_calamine import CalamineError, CalamineWorkbook, SheetVisibleEnum

    try:
        book = CalamineWorkbook.from_filelike(io.BytesIO(content))
        shown = [s.name for s in book.sheets_metadata if s.visible is SheetVisibleEnum.Visible]
        rows = {
            name: book.get_sheet_by_name(name).to_python(skip_empty_area=False) for name in shown
        }
    except (CalamineError, OSError, ValueError) as error:
        raise BadInputError(
            f"{path} cannot be read as a workbook ({error}); save the list as XLSX or CSV again."
        ) from error
    return {name: Sheet(tuple(_filled(each))) for name, each in rows.items()}


def _filled(rows: Sequence[Sequence[Value]]) -> list[tuple[int, tuple[str, ...]]]:
    told = [(line, tuple(map(text_of, row))) for line, row in enumerate(rows, start=1)]
    widest = max((place for _, row in told for place, cell in enumerate(row, 1) if cell), default=0)
    return [(line, row[:widest]) for line, row in told if any(row)]


def text_of(value: Value) -> str:
    """A cell as it is read: a date by ISO 8601, a whole number without a point."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, datetime):
        midnight = value.time() == datetime.min.time()
        return value.date().isoformat() if midnight else value.isoformat()
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, int | float) and float(value).is_integer():
        return str(int(value))
    return str(value).strip()
