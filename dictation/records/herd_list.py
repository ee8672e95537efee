"""A herd list: what is known of each animal before the visit.

Our own form is CSV in UTF-8 with commas and ISO 8601 dates. Columns, in any order: tag (needed),
electronic_id, breed, class, parity, calved_on, last_status, service_1, service_2 ... with sire_1,
sire_breed_1, inseminator_1 ..., or services separated by ';', natural_from and natural_to for a
time with a bull (without natural_to he is still there), sire, sire_breed and inseminator of all
services. Any other CSV, XLSX or JSON of the open standard is read as a
person once confirmed (``herd-list.toml`` in its folder). Every mistake is named at once.
"""

from __future__ import annotations

import hashlib
import re
from dataclasses import replace
from datetime import date
from functools import partial
from pathlib import Path

from dictation.errors import BadInputError
from dictation.records.herd.layout import (
    DateOrder,
    Layout,
    columns_known,
    header_of,
    in_our_form,
    is_column,
    layout_beside,
    read_date,
)
from dictation.records.herd.sheet import Mistakes, Sheet, content_of, csv_sheet
from dictation.visit.facts import HerdListed
from grammar.exam import KnownAnimal, Service

WORKBOOKS = frozenset({".xlsx", ".xlsm"})
_ZIP, _OLD_WORKBOOK = b"PK\x03\x04", b"\xd0\xcf\x11\xe0"

MOST_CALVINGS = 25
LONGEST_NUMBER = 40
"""Characters of a tag or electronic number; the longest in use has 23."""
_POWERS_OF_TEN = re.compile(r"[0-9]+(?:[.,][0-9]*)?E\+?[0-9]+", re.IGNORECASE)
_WANTED = {
    DateOrder.ISO: "is no date like 2026-11-18",
    DateOrder.DAY_FIRST: "is no date like 18/11/2026",
    DateOrder.MONTH_FIRST: "is no date like 11/18/2026",
}


def read_herd_list(path: Path, layout: Layout | None = None) -> HerdListed:
    """Read a list whole or not at all, by ``layout``, else by the one kept beside it.

    Raises BadInputError with every mistake and its place.
    """
    content = content_of(path)
    if path.suffix.lower() == ".json":
        from dictation.records.herd.standard_json import standard_animals

        animals = standard_animals(path, content)
    else:
        animals = _from_sheet(path, content, layout)
    if not animals:
        raise BadInputError(f"{path} names no animal on the farm.")
    return HerdListed(hashlib.sha256(content).hexdigest(), path.name, animals)


def sheet_of(path: Path, content: bytes, layout: Layout | None = None) -> Sheet:
    """The rows of a CSV or XLSX file. Raises BadInputError."""
    if content.startswith(_OLD_WORKBOOK):
        raise BadInputError(f"{path} is a workbook of the old kind: save it as XLSX or CSV.")
    if path.suffix.lower() in WORKBOOKS or content.startswith(_ZIP):
        from dictation.records.herd.workbook import workbook_sheet

        sheet = workbook_sheet(path, content)
    else:
        encoding, delimiter = (layout.encoding, layout.delimiter) if layout else (None, None)
        sheet = csv_sheet(path, content, encoding, delimiter)
    if not sheet.rows:
        raise BadInputError(f"{path} is empty: give a herd list with a header and a column 'tag'.")
    return sheet


def _from_sheet(path: Path, content: bytes, layout: Layout | None) -> tuple[KnownAnimal, ...]:
    kept = layout or layout_beside(path)
    sheet = sheet_of(path, content)
    line, headings = header_of(sheet)
    plain = tuple(heading.lower() for heading in headings)
    if layout is None and (in_our_form(plain) or kept is None):
        _stop_if_not_ours(path, plain, line, sheet)
        kept = Layout(tuple((name, name) for name in plain))
    elif kept is not None:
        sheet = sheet_of(path, content, kept)
        line, headings = header_of(sheet)
        kept = _in_order(path, kept, headings)
    assert kept is not None
    mistakes = Mistakes(path)
    animals = _animals_of(sheet, kept, line, mistakes)
    mistakes.stop_if_any()
    return animals


def _stop_if_not_ours(path: Path, names: tuple[str, ...], line: int, sheet: Sheet) -> None:
    """Refuse a list in another form: it is not guessed at without a person's word."""
    mistakes = Mistakes(path)
    for name in names:
        first, _, again = name.rpartition(" (")
        if again and is_column(first):
            mistakes.add(line, f"'{first}'", "is there twice")
    mistakes.stop_if_any()
    other = [name for name in names if not is_column(name)]
    if "tag" not in names or other or sheet.encoding == "cp1252":
        known = ", ".join(sorted(columns_known().keys() - {"service_1"}))
        seen = ", ".join(repr(name) for name in other) or "its letters are not UTF-8"
        missing = "" if "tag" in names else " There is no column 'tag'."
        raise BadInputError(
            f"{path}, line {line}: not in the form of hornsweep's own lists ({seen}).{missing} Run"
            f" 'hornsweep import herd {path}' once and confirm how it is to be read, or name the"
            f" columns {known}, service_1 ..."
        )


def _in_order(path: Path, kept: Layout, headings: tuple[str, ...]) -> Layout:
    """The kept layout for the headings of this list, which may stand in another order."""
    names = kept.names
    unknown = [heading for heading in headings if heading not in names]
    lost = [heading for heading, name in kept.columns if name and heading not in headings]
    if unknown or lost:
        which = ", ".join(repr(heading) for heading in (unknown or lost))
        how = "new" if unknown else "missing"
        raise BadInputError(
            f"{path}: the column {which} is {how} since this list was confirmed; run"
            f" 'hornsweep import herd {path}' again and look."
        )
    columns = tuple((heading, names[heading]) for heading in headings)
    return replace(kept, columns=columns)


def _animals_of(
    sheet: Sheet, layout: Layout, header_line: int, mistakes: Mistakes
) -> tuple[KnownAnimal, ...]:
    """The animals of all rows after the header; mistakes are added to ``mistakes``."""
    names = [name for _, name in layout.columns]
    reader = _Rows(layout.date_order, mistakes)
    for line, cells in sheet.rows:
        if line <= header_line:
            continue
        if len(cells) != len(names):
            place = str(min(len(cells), len(names)) + 1)
            what = f"{len(cells)} cells where the header has {len(names)}"
            mistakes.add(line, place, what)
            continue
        read = {name: cell for name, cell in zip(names, cells, strict=True) if name is not None}
        if any(read.values()):
            reader.take(line, read)
    return tuple(reader.animals)


class _Rows:
    """Rows to animals; remembers on which line each tag stood."""

    def __init__(self, order: DateOrder, mistakes: Mistakes) -> None:
        self.animals: list[KnownAnimal] = []
        self._order = order
        self._mistakes = mistakes
        self._first_line: dict[tuple[str, str], int] = {}

    def take(self, line: int, cells: dict[str, str]) -> None:
        tag = self._identity(line, "tag", cells)
        if not tag:
            self._mistakes.add(line, "tag", "is empty")
        electronic = self._identity(line, "electronic_id", cells)
        self.animals.append(
            KnownAnimal(
                tag=tag,
                electronic_id=electronic or None,
                breed=cells.get("breed") or None,
                animal_class=cells.get("class") or None,
                parity=self._parity(line, cells.get("parity", "")),
                calved_on=self._date(line, "calved_on", cells.get("calved_on", "")),
                services=self._services(line, cells),
                last_status=cells.get("last_status") or None,
            )
        )

    def _identity(self, line: int, column: str, cells: dict[str, str]) -> str:
        """A number as text, refused where a spreadsheet has rounded it or two animals share it."""
        text = cells.get(column, "")
        if len(text) > LONGEST_NUMBER:
            what = f"is {len(text)} characters long, which no number of an animal is"
            self._mistakes.add(line, column, what)
        elif _POWERS_OF_TEN.fullmatch(text):
            what = f"'{text}' is a number that a spreadsheet has rounded; format it as text"
            self._mistakes.add(line, column, what)
        elif text:
            first = self._first_line.setdefault((column, text), line)
            if first != line:
                self._mistakes.add(line, column, f"{text} is on line {first} too")
        return text

    def _services(self, line: int, cells: dict[str, str]) -> tuple[Service, ...]:
        services = []
        for name, text in self._service_cells(cells):
            day = self._date(line, name, text)
            if day is None:
                continue
            number = name.removeprefix("service_")
            sire, breed, who = (
                cells.get(f"{name}_{number}") or cells.get(name) or None
                for name in ("sire", "sire_breed", "inseminator")
            )
            services.append(Service(day, None, sire, who, sire_breed=breed))
        services += self._natural(line, cells)
        return tuple(sorted(services, key=lambda s: s.first_day))

    @staticmethod
    def _service_cells(cells: dict[str, str]) -> list[tuple[str, str]]:
        said = [(name, text) for name, text in cells.items() if name.startswith("service_")]
        return said + [("services", text.strip()) for text in cells.get("services", "").split(";")]

    def _natural(self, line: int, cells: dict[str, str]) -> list[Service]:
        first = self._date(line, "natural_from", cells.get("natural_from", ""))
        last = self._date(line, "natural_to", cells.get("natural_to", ""))
        if first is not None and last is not None and last < first:
            self._mistakes.add(line, "natural_to", f"{last} is before natural_from {first}")
        elif first is not None:
            sire, breed = cells.get("sire") or None, cells.get("sire_breed") or None
            return [Service(first, last, sire, natural=last is None or None, sire_breed=breed)]
        elif last is not None:
            self._mistakes.add(line, "natural_from", "is empty where natural_to is given")
        return []

    def _date(self, line: int, column: str, text: str) -> date | None:
        made = partial(read_date, order=self._order)
        return self._mistakes.made(line, column, text, made, _WANTED[self._order]) if text else None

    def _parity(self, line: int, text: str) -> int | None:
        if not text:
            return None
        parity = self._mistakes.made(line, "parity", text, int, "is no whole number")
        if parity is not None and not 0 <= parity <= MOST_CALVINGS:
            self._mistakes.add(line, "parity", f"{parity} is not between 0 and {MOST_CALVINGS}")
        return parity
