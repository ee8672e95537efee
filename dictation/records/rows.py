"""The rows of one of our CSV files, by the names of its header."""

from __future__ import annotations

import csv
import io
from pathlib import Path

from dictation.errors import BadInputError
from dictation.records.cells import plain_text
from dictation.records.herd.mistakes import Mistakes
from dictation.records.herd.sheet import content_of

Row = dict[str, str]


def rows_of(path: Path, header: tuple[str, ...]) -> list[tuple[int, Row]]:
    """Each row with its line. Raises BadInputError where the header or a row is another."""
    try:
        text = content_of(path).decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise BadInputError(f"{path} is not UTF-8 text: save it as CSV in UTF-8.") from error
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    mistakes = Mistakes(path)
    rows: list[tuple[int, Row]] = []
    try:
        names = tuple(next(reader, []))
        if names != header:
            wrong = next((n for n in header if n not in names), "the order of the columns")
            raise BadInputError(f"{path}, line 1: not the header of hornsweep's file ({wrong}).")
        for cells in reader:
            if len(cells) != len(header):
                what = f"{len(cells)} cells where the header has {len(header)}"
                mistakes.add(reader.line_num, str(len(cells)), what)
            else:
                plain = (plain_text(cell) for cell in cells)
                rows.append((reader.line_num, dict(zip(header, plain, strict=True))))
    except csv.Error as error:
        raise BadInputError(f"{path}, line {reader.line_num}: not readable ({error}).") from error
    mistakes.stop_if_any()
    return rows
