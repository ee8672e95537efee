"""The cells of a row of findings.csv, taken apart; what does not fit names its column."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from typing import TypeVar

from grammar.findings import Side

E = TypeVar("E", bound=StrEnum)


class CellError(ValueError):
    """A cell that no finding is written as. ``column``: which one."""

    def __init__(self, column: str, what: str) -> None:
        super().__init__(what)
        self.column = column


@dataclass(frozen=True, slots=True)
class Cells:
    """What a row says of the finding itself. ``parts``: the detail, taken apart at '; '."""

    side: str
    detail: str
    value: str
    unit: str
    fetus: str

    @property
    def parts(self) -> list[str]:
        """The words of the detail."""
        return [part for part in self.detail.split("; ") if part]


def one_of(kind: type[E], text: str, column: str = "detail") -> E:
    """The member of an enumeration that a text names. Raises CellError."""
    try:
        return kind(text)
    except ValueError as error:
        known = ", ".join(kind)
        raise CellError(column, f"'{text}' is none of {known}") from error


def side_of(cells: Cells) -> Side | None:
    """The side of a row."""
    return one_of(Side, cells.side, "side") if cells.side else None


def number(text: str, column: str) -> float:
    """A number with a decimal point. Raises CellError."""
    try:
        read = float(text)
    except ValueError as error:
        raise CellError(column, f"'{text}' is no number with a decimal point") from error
    if not -1e6 < read < 1e6:
        raise CellError(column, f"'{text}' is out of range")
    return read


def size_of(cells: Cells) -> float | None:
    """The value of a row, where it has one."""
    return number(cells.value, "value") if cells.value else None


def needed(cells: Cells) -> float:
    """The value of a row that must have one. Raises CellError."""
    if not cells.value:
        raise CellError("value", "is empty")
    return number(cells.value, "value")


def whole(text: str, column: str) -> int:
    """A whole number. Raises CellError."""
    read = number(text, column)
    if read != int(read):
        raise CellError(column, f"'{text}' is no whole number")
    return int(read)


def days_of(cells: Cells) -> int | None:
    """The value of a row as whole days, where it has one."""
    return whole(cells.value, "value") if cells.value else None


def fetus_of(cells: Cells) -> int | None:
    """Which fetus a row is of, where one was named."""
    return whole(cells.fetus, "fetus") if cells.fetus else None


def day(text: str) -> date:
    """An ISO 8601 date in a detail. Raises CellError."""
    try:
        return date.fromisoformat(text)
    except ValueError as error:
        raise CellError("detail", f"'{text}' is no date like 2026-11-18") from error


class Words:
    """The parts of a detail, taken one by one; what is left over is a mistake."""

    def __init__(self, parts: list[str]) -> None:
        self._left = parts

    def first(self) -> str:
        """The part that says what it is."""
        if not self._left:
            raise CellError("detail", "is empty")
        return self._left.pop(0)

    def after(self, pattern: str) -> str | None:
        """What follows the words of a part, as '6' follows 'cavity' in 'cavity 6 mm'."""
        for part in self._left:
            found = re.fullmatch(pattern, part)
            if found is not None:
                self._left.remove(part)
                return found.group(1)
        return None

    def flag(self, words: str) -> bool:
        """Whether a part is just these words."""
        return self.after(f"({re.escape(words)})") is not None

    def one_of(self, kind: type[E]) -> E | None:
        """The part that names a member of an enumeration, if one does."""
        for part in self._left:
            if part in list(kind):
                self._left.remove(part)
                return kind(part)
        return None

    def end(self) -> None:
        """Raises CellError where a part is left that nothing read."""
        if self._left:
            raise CellError("detail", f"'{self._left[0]}' cannot be read")
