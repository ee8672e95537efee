"""A herd list in CSV: what is known of each animal before the visit.

Columns, in any order: tag (needed), electronic_id, breed, class, parity, calved_on, last_status,
service_1, service_2 ... or services separated by ';', natural_from and natural_to for a time with a
bull, sire. Dates are ISO 8601. Every mistake is named at once, by file, line and column.
"""

from __future__ import annotations

import csv
import hashlib
import io
import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TypeVar

from dictation.errors import BadInputError
from dictation.records.cells import plain_text
from grammar.exam import KnownAnimal, Service

MISTAKES_SHOWN = 10
"""Most mistakes named in one sentence; the rest are counted."""

Value = TypeVar("Value")

_PLAIN_COLUMNS = frozenset(
    {
        "tag",
        "electronic_id",
        "breed",
        "class",
        "parity",
        "calved_on",
        "last_status",
        "services",
        "natural_from",
        "natural_to",
        "sire",
    }
)
_SERVICE = re.compile(r"service_[1-9][0-9]*")


@dataclass(frozen=True, slots=True)
class HerdList:
    """The animals of a list; ``digest``: SHA-256 of the file, ``source``: its name."""

    digest: str
    source: str
    animals: tuple[KnownAnimal, ...]


class _Mistakes:
    """Mistakes of a file with their places."""

    def __init__(self, path: Path) -> None:
        self._path = path
        self._found: list[str] = []

    def add(self, line: int, column: str, what: str) -> None:
        self._found.append(f"line {line}, column {column}: {what}")

    def stop_if_any(self) -> None:
        if not self._found:
            return
        shown = "; ".join(self._found[:MISTAKES_SHOWN])
        more = len(self._found) - MISTAKES_SHOWN
        rest = f"; and {more} more" if more > 0 else ""
        raise BadInputError(
            f"{self._path}: {shown}{rest}. Nothing of it was taken; correct the list and try again."
        )


def read_herd_list(path: Path) -> HerdList:
    """Read a list whole or not at all. Raises BadInputError with every mistake and its place."""
    content = _bytes_of(path)
    mistakes = _Mistakes(path)
    reader = csv.reader(io.StringIO(_text_of(path, content), newline=""), strict=True)
    try:
        rows = [(reader.line_num, row) for row in reader]
    except csv.Error as error:
        raise BadInputError(
            f"{path}, line {reader.line_num}: not readable as CSV ({error}); save it as CSV again."
        ) from error
    if not rows:
        raise BadInputError(f"{path} is empty: give a herd list with a header and a column 'tag'.")
    columns = _columns(rows[0][1], mistakes)
    animals = _animals(rows[1:], columns, mistakes)
    mistakes.stop_if_any()
    if not animals:
        raise BadInputError(f"{path} names no animal: it has a header and no rows.")
    return HerdList(hashlib.sha256(content).hexdigest(), path.name, tuple(animals))


def _bytes_of(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except FileNotFoundError as error:
        raise BadInputError(f"{path} is not there: check the name of the herd list.") from error
    except OSError as error:
        raise BadInputError(f"{path} cannot be read ({error.strerror}).") from error


def _text_of(path: Path, content: bytes) -> str:
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        raise BadInputError(
            f"{path}, line {line}: not UTF-8 text; save the herd list as CSV in UTF-8."
        ) from error


def _columns(header: list[str], mistakes: _Mistakes) -> list[str]:
    names = [name.strip().lower() for name in header]
    for name in names:
        if name not in _PLAIN_COLUMNS and not _SERVICE.fullmatch(name):
            known = ", ".join(sorted(_PLAIN_COLUMNS))
            mistakes.add(1, f"'{name}'", f"not a column of a herd list ({known}, service_1 ...)")
        elif names.count(name) > 1:
            mistakes.add(1, f"'{name}'", "is there twice")
    if "tag" not in names:
        mistakes.add(1, "'tag'", "is missing")
    return names


def _animals(
    rows: list[tuple[int, list[str]]], columns: list[str], mistakes: _Mistakes
) -> list[KnownAnimal]:
    animals: list[KnownAnimal] = []
    first_line: dict[str, int] = {}
    for line, row in rows:
        if not any(cell.strip() for cell in row):
            continue
        if len(row) != len(columns):
            mistakes.add(line, str(min(len(row), len(columns)) + 1), _wrong_count(row, columns))
            continue
        cells = {name: plain_text(cell.strip()) for name, cell in zip(columns, row, strict=True)}
        animal = _animal(line, cells, mistakes)
        if animal.tag and animal.tag in first_line:
            mistakes.add(line, "tag", f"{animal.tag} is on line {first_line[animal.tag]} too")
        first_line.setdefault(animal.tag, line)
        animals.append(animal)
    return animals


def _wrong_count(row: list[str], columns: list[str]) -> str:
    return f"{len(row)} cells where the header has {len(columns)}"


def _animal(line: int, cells: dict[str, str], mistakes: _Mistakes) -> KnownAnimal:
    tag = cells.get("tag", "")
    if not tag:
        mistakes.add(line, "tag", "is empty")
    calved_on = _date(line, "calved_on", cells.get("calved_on", ""), mistakes)
    return KnownAnimal(
        tag=tag,
        electronic_id=cells.get("electronic_id") or None,
        breed=cells.get("breed") or None,
        animal_class=cells.get("class") or None,
        parity=_parity(line, cells.get("parity", ""), mistakes),
        calved_on=calved_on,
        services=_services(line, cells, mistakes),
        last_status=cells.get("last_status") or None,
    )


def _services(line: int, cells: dict[str, str], mistakes: _Mistakes) -> tuple[Service, ...]:
    sire = cells.get("sire") or None
    said = [(name, text) for name, text in cells.items() if _SERVICE.fullmatch(name)]
    said += [("services", text.strip()) for text in cells.get("services", "").split(";")]
    days = [day for name, text in said if (day := _date(line, name, text, mistakes)) is not None]
    services = [Service(day, sire=sire) for day in days]
    first = _date(line, "natural_from", cells.get("natural_from", ""), mistakes)
    last = _date(line, "natural_to", cells.get("natural_to", ""), mistakes)
    if first is not None and last is not None and last < first:
        mistakes.add(line, "natural_to", f"{last} is before natural_from {first}")
    elif first is not None:
        services.append(Service(first, last, sire))
    elif last is not None:
        mistakes.add(line, "natural_from", "is empty where natural_to is given")
    return tuple(sorted(services, key=lambda s: s.first_day))


def _date(line: int, column: str, text: str, mistakes: _Mistakes) -> date | None:
    wanted = "is no date like 2026-11-18"
    return _made(line, column, text, mistakes, date.fromisoformat, wanted)


def _parity(line: int, text: str, mistakes: _Mistakes) -> int | None:
    parity = _made(line, "parity", text, mistakes, int, "is no whole number")
    if parity is not None and not 0 <= parity <= 25:
        mistakes.add(line, "parity", f"{parity} is not between 0 and 25")
    return parity


def _made(  # noqa: PLR0913, PLR0917 - a cell, its place, and how it is read
    line: int,
    column: str,
    text: str,
    mistakes: _Mistakes,
    make: Callable[[str], Value],
    wanted: str,
) -> Value | None:
    if not text:
        return None
    try:
        return make(text)
    except ValueError:
        mistakes.add(line, column, f"'{text}' {wanted}")
        return None
