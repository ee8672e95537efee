"""The animals that the rows of a list name, or what is wrong with each cell."""

from __future__ import annotations

import re
from datetime import date
from functools import partial

from dictation.records.herd.layout import DateOrder, Layout, read_date
from dictation.records.herd.sheet import Mistakes, Sheet
from grammar.exam import KnownAnimal, Service

MOST_CALVINGS = 25
_POWERS_OF_TEN = re.compile(r"[0-9]+[.,]?[0-9]*E\+?[0-9]+", re.IGNORECASE)
_WANTED = {
    DateOrder.ISO: "is no date like 2026-11-18",
    DateOrder.DAY_FIRST: "is no date like 18/11/2026",
    DateOrder.MONTH_FIRST: "is no date like 11/18/2026",
}


def animals_of(
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
        if _POWERS_OF_TEN.fullmatch(text):
            what = f"'{text}' is a number that a spreadsheet has rounded; format it as text"
            self._mistakes.add(line, column, what)
        elif text:
            first = self._first_line.setdefault((column, text), line)
            if first != line:
                self._mistakes.add(line, column, f"{text} is on line {first} too")
        return text

    def _services(self, line: int, cells: dict[str, str]) -> tuple[Service, ...]:
        sire, who = cells.get("sire") or None, cells.get("inseminator") or None
        services = []
        for name, text in self._service_cells(cells):
            day = self._date(line, name, text)
            if day is None:
                continue
            number = name.removeprefix("service_")
            its_sire = cells.get(f"sire_{number}") or sire
            its_inseminator = cells.get(f"inseminator_{number}") or who
            services.append(Service(day, sire=its_sire, inseminator=its_inseminator))
        services += self._natural(line, cells, sire)
        return tuple(sorted(services, key=lambda s: s.first_day))

    @staticmethod
    def _service_cells(cells: dict[str, str]) -> list[tuple[str, str]]:
        said = [(name, text) for name, text in cells.items() if name.startswith("service_")]
        return said + [("services", text.strip()) for text in cells.get("services", "").split(";")]

    def _natural(self, line: int, cells: dict[str, str], sire: str | None) -> list[Service]:
        first = self._date(line, "natural_from", cells.get("natural_from", ""))
        last = self._date(line, "natural_to", cells.get("natural_to", ""))
        if first is not None and last is not None and last < first:
            self._mistakes.add(line, "natural_to", f"{last} is before natural_from {first}")
        elif first is not None:
            return [Service(first, last, sire)]
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
