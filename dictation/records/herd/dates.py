"""Dates as farms write them: which order they are in is found out, never guessed."""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import date, datetime
from enum import StrEnum

_PARTS = re.compile(r"\s*(\d{1,2})[./\- ](\d{1,2})[./\- ](\d{4}|\d{2})\s*(?:[T ]\d{1,2}:\d{2}.*)?")


class DateOrder(StrEnum):
    """ISO: 2026-11-18. The others: day or month first, with any sign between."""

    ISO = "iso"
    DAY_FIRST = "dmy"
    MONTH_FIRST = "mdy"


def read_date(text: str, order: DateOrder) -> date:
    """A date; ISO 8601 is read whatever the order. Raises ValueError."""
    iso = _iso(text)
    if iso is not None:
        return iso
    found = _PARTS.fullmatch(text)
    if order is DateOrder.ISO or found is None:
        raise ValueError(text)
    first, second, year = (int(part) for part in found.groups())
    # Two digits are of this century: no cow was served in the last.
    year += 2000 if year < 100 else 0
    day, month = (first, second) if order is DateOrder.DAY_FIRST else (second, first)
    return date(year, month, day)


def possible_orders(texts: Iterable[str]) -> frozenset[DateOrder]:
    """The orders in which every one of these texts is a date. Empty where none fits all."""
    filled = [text for text in texts if text]
    return frozenset(order for order in DateOrder if all(_reads(text, order) for text in filled))


def _reads(text: str, order: DateOrder) -> bool:
    try:
        read_date(text, order)
    except ValueError:
        return False
    return True


def _iso(text: str) -> date | None:
    try:
        return datetime.fromisoformat(text.strip()).date()
    except ValueError:
        return None
