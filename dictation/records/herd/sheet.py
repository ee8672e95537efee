"""A herd list as rows of text, whatever file it came in."""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass
from pathlib import Path

from dictation.errors import BadInputError
from dictation.records.cells import plain_text

DELIMITERS = (",", ";", "\t", "|")
LOOKED_AT = 50
"""Rows by which the delimiter is judged."""

LARGEST_BYTES = 64 * 2**20
"""A herd list is no larger; a larger file is another file."""


@dataclass(frozen=True, slots=True)
class Sheet:
    """``rows``: line of the file, from 1, and cells. Formulas are no text: they are values by now.

    ``encoding`` and ``delimiter`` are None where the file has none (XLSX).
    """

    rows: tuple[tuple[int, tuple[str, ...]], ...]
    encoding: str | None = None
    delimiter: str | None = None


def content_of(path: Path) -> bytes:
    """The bytes of a list. Raises BadInputError."""
    try:
        if path.stat().st_size > LARGEST_BYTES:
            raise BadInputError(f"{path} is too large for a herd list: check its name.")
        return path.read_bytes()
    except FileNotFoundError as error:
        raise BadInputError(f"{path} is not there: check the name of the herd list.") from error
    except OSError as error:
        raise BadInputError(f"{path} cannot be read ({error.strerror}).") from error


def csv_sheet(
    path: Path, content: bytes, encoding: str | None = None, delimiter: str | None = None
) -> Sheet:
    """Rows of a CSV; encoding and delimiter are recognised where they are not given."""
    encoding = encoding or recognised_encoding(path, content)
    text = _decoded(path, content, encoding)
    delimiter = delimiter or _recognised_delimiter(text)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    try:
        rows = [(reader.line_num, row) for row in reader]
    except csv.Error as error:
        raise BadInputError(
            f"{path}, line {reader.line_num}: not readable as CSV ({error}); save it as CSV again."
        ) from error
    return Sheet(
        tuple((line, _cells(row)) for line, row in rows if _filled(row)), encoding, delimiter
    )


def recognised_encoding(path: Path, content: bytes) -> str:
    """By its mark, else UTF-8 where it is valid, else Windows Western."""
    if content.startswith(b"\xef\xbb\xbf"):
        return "utf-8-sig"
    if content.startswith((b"\xff\xfe", b"\xfe\xff")):
        return "utf-16"
    try:
        content.decode("utf-8")
    except UnicodeDecodeError:
        return "cp1252"
    return "utf-8"


def _decoded(path: Path, content: bytes, encoding: str) -> str:
    try:
        text = content.decode(encoding)
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        raise BadInputError(
            f"{path}, line {line}: not {encoding.upper()} text; save the herd list as CSV in UTF-8."
        ) from error
    if "\0" in text:
        line = text.count("\n", 0, text.index("\0")) + 1
        raise BadInputError(f"{path}, line {line}: this is no text; save the herd list as CSV.")
    return text.removeprefix("\ufeff")


def _recognised_delimiter(text: str) -> str:
    """The one that parts the first rows into the most columns, the same number in each row."""

    def judged(delimiter: str) -> tuple[int, int]:
        counts: list[int] = []
        try:
            reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter)
            for row in reader:
                if _filled(row):
                    counts.append(len(row))
                if len(counts) == LOOKED_AT:
                    break
        except csv.Error:
            return (0, 0)
        usual = max(set(counts), key=counts.count, default=0)
        return (counts.count(usual) * (usual > 1), usual)

    return max(DELIMITERS, key=judged)


def _cells(row: list[str]) -> tuple[str, ...]:
    return tuple(plain_text(cell.strip()) for cell in row)


def _filled(row: list[str]) -> bool:
    return any(cell.strip() for cell in row)
