"""Rows of a list to animals, and what of its rows is no animal.

In our own form every row is an animal and every mistake is one. In any other, rows of totals,
titles of groups and headings that come again on each page are passed over, and told; notes in cells
of dates are left out; an animal on several rows is one.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date
from itertools import pairwise

from dictation.records.herd.countries import ELECTRONIC_DIGITS
from dictation.records.herd.dates import WANTED, DateOrder, bare, dates_in, iso_date
from dictation.records.herd.layout import known_as
from dictation.records.herd.sheet import Mistakes
from grammar.exam import KnownAnimal, Service, digits_of

MOST_CALVINGS = 25
LONGEST_NUMBER = 40
"""Characters of a tag or electronic number; the longest in use has 23."""
_POWERS_OF_TEN = re.compile(r"[0-9]+(?:[.,][0-9]*)?E\+?[0-9]+", re.IGNORECASE)
_DATE = re.compile(r"\d{1,2}[./]\d{1,2}[./]\d{2,4}")

# In the languages of columns.toml; common practice, no source.
_TOTALS = frozenset(
    """
    total totals totaal totale totali totais sum sums subtotal count average avg mean median summe
    gesamt gesamtzahl anzahl durchschnitt mittelwert schnitt zwischensumme som aantal gemiddelde
    effectif somme moyenne nombre suma promedio media soma somma antal gennemsnit printed gedruckt
    afgedrukt imprime impreso stampato udskrevet
    """.split()  # noqa: SIM905
)
_GROUPS = frozenset(
    """
    pen group lot shed barn string gruppe stall bucht groep hok groupe case corral lote grupo gruppo
    recinto box hold sti stald
    """.split()  # noqa: SIM905
)
_PAGES = frozenset({"page", "seite", "pagina", "side", "bladzijde"})
_COUNTED = frozenset(
    """
    cows heifers animals head cattle kuhe tiere farsen rinder dieren koeien vaarzen vaches animaux
    genisses vacas animales novillas animais novilhas vacche capi bovini manze koer køer dyr kvier
    """.split()  # noqa: SIM905
)
"""Behind a number in the place of a tag: how many there are."""

_MALES = frozenset(
    """
    m male bull steer ox bullock mannlich bulle ochse mannelijk stier os macho toro touro novilho
    taureau boeuf maschio tyr han
    """.split()  # noqa: SIM905
)
_OF_SERVICES = ("service", "sire", "inseminator", "natural_")


class Rows:
    """Rows to ``animals``; ``passed_over``: line and words of a row that is none.

    ``own``: the list is in our own form. ``below``: the rows that may be animals, by column.
    """

    def __init__(
        self, order: DateOrder, mistakes: Mistakes, own: bool, below: Sequence[Mapping[str, str]]
    ) -> None:
        self.passed_over: list[tuple[int, str]] = []
        self._order = order
        self._mistakes = mistakes
        self._own = own
        tags = [row["tag"] for row in below if row.get("tag")]
        self._names = 2 * sum(not digits_of(tag) for tag in tags) > len(tags)
        pens = [row.get("pen", "") for row in below]
        # Of cells that were merged into one only the first holds the words.
        self._merged = not own and "" in pens and all(a != b or not a for a, b in pairwise(pens))
        self._animals: list[KnownAnimal] = []
        self._first_line: dict[tuple[str, str], int] = {}
        self._places: dict[str, int] = {}
        self._pen: str | None = None

    @property
    def animals(self) -> tuple[KnownAnimal, ...]:
        """What the rows have come to."""
        return tuple(self._animals)

    def is_none(self, line: int, cells: Mapping[str, str], row: tuple[str, ...]) -> bool:
        """Whether a row of another form than ours is no animal; it is then passed over."""
        filled = [cell for cell in row if cell]
        if self._own:
            return False
        tag = cells.get("tag", "")
        if len(filled) == 1 and _words(filled[0]) & _GROUPS:
            self._pen = filled[0]
        elif not (
            any(_words(cell) & _TOTALS for cell in (tag, *filled[:1]))
            or (not digits_of(tag) and any(_words(cell) & _TOTALS for cell in filled))
            or sum(known_as(cell) is not None for cell in filled) > 1
            or (tag and not digits_of(tag) and not self._names)
            or not any(cells.values())
            or _words(tag) & _COUNTED
            or (len(filled) == 1 and _words(filled[0]) & _PAGES)
            or _DATE.search(tag)
        ):
            return False
        self.passed_over.append((line, ", ".join(filled)))
        return True

    def take(self, line: int, cells: Mapping[str, str]) -> None:
        """One animal, or one more row of an animal."""
        filled = [name for name, cell in cells.items() if cell]
        if not self._own and self._animals and filled and _only_services(filled):
            self._add(len(self._animals) - 1, self._services(line, cells))
            return
        if not self._own and not cells.get("tag"):
            cells = {**cells, "tag": cells.get("national_number", ""), "national_number": ""}
        tag = self._identity(line, "tag", cells)
        if not tag:
            self._mistakes.add(line, "tag", "is empty")
        electronic = self._identity(line, "electronic_id", cells)
        digits = digits_of(electronic)
        male = bare(cells.get("sex", "")).strip(". ") in _MALES
        animal = KnownAnimal(
            tag=tag,
            electronic_id=(digits if len(digits) == ELECTRONIC_DIGITS else electronic) or None,
            breed=cells.get("breed") or None,
            animal_class=cells.get("class") or ("bull" if male else None),
            parity=self._parity(line, cells.get("parity", "")),
            calved_on=self._date(line, "calved_on", cells.get("calved_on", "")),
            services=self._services(line, cells),
            last_status=cells.get("last_status") or None,
            national=self._identity(line, "national_number", cells) or None,
            pen=cells.get("pen") or self._pen,
        )
        if self._merged:
            self._pen = animal.pen
        if tag and tag in self._places and not self._own:
            self._again(line, animal)
            return
        self._places.setdefault(tag, len(self._animals))
        self._animals.append(animal)

    def _again(self, line: int, animal: KnownAnimal) -> None:
        """The same animal on another row: its services are added, all else must be the same."""
        place = self._places[animal.tag]
        before = self._animals[place]
        both = (replace(each, services=()) for each in (before, animal))
        first, second = both
        if first != second:
            where = self._first_line["tag", animal.tag]
            self._mistakes.add(line, "tag", f"{animal.tag} is on line {where} too, and differs")
            return
        self._add(place, animal.services)
        self.passed_over.append((line, f"{animal.tag} again, the same animal"))

    def _add(self, place: int, services: tuple[Service, ...]) -> None:
        before = self._animals[place]
        every = sorted({*before.services, *services}, key=lambda s: (s.first_day, str(s)))
        self._animals[place] = replace(before, services=tuple(every))

    def _identity(self, line: int, column: str, cells: Mapping[str, str]) -> str:
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
            merged = not self._own and cells.get("tag") in self._places
            if first != line and not merged:
                self._mistakes.add(line, column, f"{text} is on line {first} too")
        return text

    def _services(self, line: int, cells: Mapping[str, str]) -> tuple[Service, ...]:
        services = []
        for name, text in self._service_cells(cells):
            number = name.removeprefix("service_")
            sire, breed, who = (
                cells.get(f"{column}_{number}") or cells.get(column) or None
                for column in ("sire", "sire_breed", "inseminator")
            )
            for day in self._dates(line, name, text):
                services.append(Service(day, None, sire, who, sire_breed=breed))
        services += self._natural(line, cells)
        return tuple(sorted(services, key=lambda s: s.first_day))

    def _service_cells(self, cells: Mapping[str, str]) -> list[tuple[str, str]]:
        said = [(name, text) for name, text in cells.items() if name.startswith("service_")]
        parts = cells.get("services", "").split(";") if self._own else [cells.get("services", "")]
        return said + [("services", text.strip()) for text in parts]

    def _natural(self, line: int, cells: Mapping[str, str]) -> list[Service]:
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
        found = self._dates(line, column, text)
        if len(found) > 1:
            self._mistakes.add(line, column, f"'{text}' holds {len(found)} dates: leave one")
        return found[0] if found else None

    def _dates(self, line: int, column: str, text: str) -> tuple[date, ...]:
        if not text:
            return ()
        wanted = WANTED[self._order]
        if self._own:
            day = self._mistakes.made(line, column, text, iso_date, wanted)
            return () if day is None else (day,)
        made = self._mistakes.made(line, column, text, lambda t: dates_in(t, self._order), wanted)
        return made or ()

    def _parity(self, line: int, text: str) -> int | None:
        if not text or not (self._own or re.search(r"\d", text)):
            return None
        whole = text if self._own else re.sub(r"(?<=\d)(?:[.,]0*|\s*\D+)$", "", text)
        parity = self._mistakes.made(line, "parity", whole, int, "is no whole number")
        if parity is not None and not 0 <= parity <= MOST_CALVINGS:
            self._mistakes.add(line, "parity", f"{parity} is not between 0 and {MOST_CALVINGS}")
        return parity


def _words(text: str) -> frozenset[str]:
    return frozenset(re.findall(r"[^\W\d_]+", bare(text)))


def _only_services(names: list[str]) -> bool:
    """Whether a row goes on with the animal before: a service of hers, and no number."""
    served = any(name.startswith(("service", "natural_")) for name in names)
    return served and all(name.startswith(_OF_SERVICES) for name in names)
