"""Dates as lists write them: in any order, with names of months and days, with notes beside them.

In which order a list's dates are is found out from all of them, never guessed.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Iterator
from datetime import date, datetime
from enum import StrEnum


class DateOrder(StrEnum):
    """ISO: 2026-11-18. The others: day or month first, with any sign between."""

    ISO = "iso"
    DAY_FIRST = "dmy"
    MONTH_FIRST = "mdy"


WANTED = {
    DateOrder.ISO: "is no date like 2026-11-18",
    DateOrder.DAY_FIRST: "is no date like 18/11/2026",
    DateOrder.MONTH_FIRST: "is no date like 11/18/2026",
}

_MONTHS = tuple(
    line.split()
    for line in """
    january januar januari janvier enero janeiro gennaio
    february februar februari fevrier febrero fevereiro febbraio
    march marz maerz maart mrt mars marzo marco marts
    april avril abril aprile
    may mai mei mayo maio maggio maj
    june juni juin junio junho giugno
    july juli juillet julio julho luglio
    august augustus aout agosto
    september septembre septiembre setembro settembre
    october oktober octobre octubre outubro ottobre
    november novembre noviembre novembro
    december dezember decembre diciembre dezembro dicembre
    """.strip().splitlines()
)
"""January to December in English, German, Dutch, French, Spanish, Portuguese, Italian, Danish."""

_WORD = r"([^\W\d_]{3,12})"
_YEAR = r"(\d{4}|\d{2})"
_ANY = re.compile(
    r"(?<!\d)(?:"
    r"(?P<iso>\d{4}[-/.]\d{1,2}[-/.]\d{1,2})(?:T\d\d:\d\d[^\s;]*)?"
    rf"|(?P<plain>\d{{1,2}}\s?[./\- ]\s?\d{{1,2}}\s?[./\- ]\s?{_YEAR})"
    rf"|(?P<day>\d{{1,2}}(?:st|nd|rd|th)?[.\s\-/]*(?:d[eo]\s+|of\s+)?{_WORD}[.,\s\-/]*(?:d[eo]\s+)?{_YEAR})"
    r")(?!\d)"
    rf"|(?<!\w)(?P<month>{_WORD}\.?[\s\-]*\d{{1,2}}(?:st|nd|rd|th)?[,\s\-]+\d{{4}})(?!\d)",
    re.IGNORECASE,
)
_TIME = re.compile(r"(?<![\d.])\d{1,2}:\d{2}(?::\d{2})?(?!\d)")
_PIECE = re.compile(r"\d{1,2}[./\-]\d{1,2}|\d{5,}")
"""What is left of a date that nobody can read whole: day and month, or a spreadsheet's number."""


def dates_in(text: str, order: DateOrder) -> tuple[date, ...]:
    """All dates of a cell; none of one that holds no digit: that is a note.

    Raises ValueError where one is none, or a part of one is left over.
    """
    found = []
    for match in _ANY.finditer(text):
        kind, written = next((k, text) for k, text in match.groupdict().items() if text)
        found.append(_date_of(kind, written, order))
    rest = _TIME.sub(" ", _ANY.sub(" ", text))
    if _PIECE.search(rest) or (not found and re.search(r"\d", rest)):
        raise ValueError(text)
    return tuple(found)


def read_date(text: str, order: DateOrder) -> date:
    """The one date of a cell. Raises ValueError."""
    found = dates_in(text, order)
    if len(found) != 1:
        raise ValueError(text)
    return found[0]


def iso_date(text: str) -> date:
    """A date of our own form, with nothing beside it. Raises ValueError."""
    return datetime.fromisoformat(text.strip()).date()


def possible_orders(texts: Iterable[str]) -> frozenset[DateOrder]:
    """The orders in which all texts are dates that are one in any order.

    One that is none in any order says nothing, and is named when the list is read. Empty where some
    are dates only with the day first and others only with the month first.
    """
    fits = [orders for text in texts if text and (orders := frozenset(_orders_of(text)))]
    return frozenset(DateOrder).intersection(*fits) if fits else frozenset(DateOrder)


def _orders_of(text: str) -> Iterator[DateOrder]:
    for order in DateOrder:
        try:
            dates_in(text, order)
        except ValueError:
            continue
        yield order


def _date_of(kind: str, text: str, order: DateOrder) -> date:
    numbers = [int(part) for part in re.findall(r"\d+", text)]
    if kind == "iso":
        return date(*numbers[:3])
    if kind == "plain":
        if order is DateOrder.ISO:
            raise ValueError(text)
        first, second, year = numbers
        day, month = (first, second) if order is DateOrder.DAY_FIRST else (second, first)
        return date(_full(year), month, day)
    words = [word for word in re.findall(_WORD, text) if _month(word)]
    if not words:
        raise ValueError(text)
    return date(_full(numbers[1]), _month(words[0]), numbers[0])


def _month(word: str) -> int:
    """1 to 12 by the name or the beginning of one; 0 where it is none or several."""
    plain = bare(word)
    found = [n for n, names in enumerate(_MONTHS, 1) if any(m.startswith(plain) for m in names)]
    return found[0] if len(found) == 1 else 0


def bare(text: str) -> str:
    """Lower case without accents."""
    split = unicodedata.normalize("NFKD", text.lower())
    return "".join(sign for sign in split if not unicodedata.combining(sign))


def _full(year: int) -> int:
    # Two digits are of this century: no cow was served in the last.
    return year + 2000 if year < 100 else year
