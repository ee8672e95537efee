"""A list as rows of text, whatever file it came in, and its mistakes, told all at once."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Callable
from dataclasses import dataclass
from itertools import islice
from pathlib import Path
from typing import TypeVar

from dictation import gate
from dictation.errors import BadInputError
from dictation.records.cells import plain_text

DELIMITERS = (",", ";", "\t", "|", "^", "~", ":")
OLD_ENCODINGS = ("cp1252", "cp850", "mac_roman", "cp1250")
"""Of Windows, of DOS, of old Macintoshes, and of Windows in the east of Europe: of two that fit
alike the first is taken, and a person sees the letters before they are used."""

_LETTERS = frozenset("äöüÄÖÜßéèêëÉÈçÇñÑáàâãÁÀåÅæÆøØíìîïÍóòôõÓúùûÚº°ª")
_TOLD = re.compile(r"\ufeff?(sep=(.))\r?$", re.IGNORECASE | re.MULTILINE)

LOOKED_AT = 50
"""Rows by which the delimiter is judged."""

MOST_ROWS = 200_000
MOST_CELLS = 4_000_000
LONGEST_CELL = 100_000
"""Rows and cells of a list, and characters of a cell: more is no herd list, and never parsed."""

SHOWN_OF_A_CELL = 60

MISTAKES_SHOWN = 10
"""Most mistakes named in one sentence; the rest are counted."""

Row = dict[str, str]
Value = TypeVar("Value")


class Mistakes:
    """What is wrong with a file. ``line``, ``column``: what its places are called."""

    def __init__(self, path: Path, line: str = "line", column: str = "column") -> None:
        self._path = path
        self._line, self._column = line, column
        self._found: list[str] = []

    def add(self, line: int, column: str, what: str) -> None:
        """A mistake on a line of the file, from 1."""
        self._found.append(f"{self._line} {line}, {self._column} {column}: {what}")

    def made(
        self, line: int, column: str, text: str, make: Callable[[str], Value], wanted: str
    ) -> Value | None:
        """What ``make`` makes of a cell; None, and a mistake, where it raises ValueError."""
        try:
            return make(text)
        except (ValueError, OverflowError):
            shown = text if len(text) <= SHOWN_OF_A_CELL else f"{text[:SHOWN_OF_A_CELL]}..."
            self.add(line, column, f"'{shown}' {wanted}")
            return None

    def stop_if_any(self) -> None:
        """Raise BadInputError with all of them, if there is one."""
        if not self._found:
            return
        shown = "; ".join(self._found[:MISTAKES_SHOWN])
        more = len(self._found) - MISTAKES_SHOWN
        rest = f"; and {more} more" if more > 0 else ""
        raise BadInputError(
            f"{self._path}: {shown}{rest}. Nothing of it was taken; correct the list and try again."
        )


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
    return gate.content_of(path, "the herd list")


def csv_sheet(
    path: Path, content: bytes, encoding: str | None = None, delimiter: str | None = None
) -> Sheet:
    """Rows of a CSV; encoding and delimiter are recognised where they are not given."""
    encoding = encoding or recognised_encoding(path, content)
    text = _decoded(path, content, encoding)
    stop_at_too_many(path, text.count("\n"), max(text.count(sign) for sign in DELIMITERS))
    told = _TOLD.match(text)  # some spreadsheets write a line that says which sign parts columns
    text = text[told.end() :] if told else text
    delimiter = delimiter or (told.group(2) if told else _recognised_delimiter(text))
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    try:
        rows = [(reader.line_num, row) for row in reader]
    except csv.Error as error:
        raise BadInputError(
            f"{path}, line {reader.line_num}: not readable as CSV ({error}); save it as CSV again."
        ) from error
    filled = ((line, [cell.strip() for cell in row]) for line, row in rows if _filled(row))
    plain = tuple((line, tuple(map(plain_text, row))) for line, row in filled)
    return Sheet(plain, encoding, delimiter)


def stop_at_too_many(path: Path, rows: int, cells: int) -> None:
    """Raise BadInputError where a list has more rows or cells than any herd."""
    if rows > MOST_ROWS or cells > MOST_CELLS:
        raise BadInputError(
            f"{path} has more than {MOST_ROWS} rows or {MOST_CELLS} cells: give a herd list."
        )


def rows_of(path: Path, header: tuple[str, ...]) -> list[tuple[int, Row]]:
    """The rows of one of our CSV files, by the names of its header, with their lines.

    Raises BadInputError where the header or a row is another."""
    try:
        text = gate.content_of(path, "the visit's CSV file").decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise BadInputError(f"{path} is not UTF-8 text: save it as CSV in UTF-8.") from error
    stop_at_too_many(path, text.count("\n"), text.count(","))
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


def recognised_encoding(path: Path, content: bytes) -> str:
    """By its mark, else UTF-8 where it is valid, else the one that gives the most usual letters."""
    if content.startswith(b"\xef\xbb\xbf"):
        return "utf-8-sig"
    if content.startswith((b"\xff\xfe", b"\xfe\xff")):
        return "utf-16"
    for order, zeros in (("utf-16-le", content[1::2]), ("utf-16-be", content[::2])):
        if content and zeros.count(0) > len(zeros) / 2:
            return order
    try:
        content.decode("utf-8")
    except UnicodeDecodeError:
        return max(OLD_ENCODINGS, key=lambda encoding: _usual_letters(content, encoding))
    return "utf-8"


def _usual_letters(content: bytes, encoding: str) -> int:
    try:
        text = content.decode(encoding)
    except UnicodeDecodeError:
        return -len(content)
    # No word has a capital before a small letter but at its beginning.
    wrong = len(re.findall(r"(?<=[^\W\d_])[À-Þ](?=[a-z])", text))
    others = [sign for sign in text if not sign.isascii()]
    return sum(1 if sign in _LETTERS else -1 for sign in others) - 2 * wrong


def _decoded(path: Path, content: bytes, encoding: str) -> str:
    try:
        text = gate.in_letters(content.decode(encoding))
    except UnicodeError as error:
        line = content.count(b"\n", 0, getattr(error, "start", 0)) + 1
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
        reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter)
        try:
            counts = [len(row) for row in islice(filter(_filled, reader), LOOKED_AT)]
        except csv.Error:
            return (0, 0)
        usual = max(set(counts), key=counts.count, default=0)
        return (counts.count(usual) * (usual > 1), usual)

    return max(DELIMITERS, key=judged)


def _filled(row: list[str]) -> bool:
    return any(cell.strip() for cell in row)
