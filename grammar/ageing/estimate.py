"""What an age of a pregnancy is: a number of days, its error, and where it comes from.

Day 0 is the day of service. Errors are half-widths of about 95 %, that is, about two standard
errors; published allowances are read that way.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from grammar.findings import Quantity


class AgeFrom(StrEnum):
    """Where an age comes from; the values of ``age_from`` in exams.csv."""

    STATED = "stated"
    MEASURED = "measured"
    SERVICE = "service"


@dataclass(frozen=True, slots=True)
class AgeEstimate:
    """An age in days with the half-width of its error (about 95 %).

    ``source_id`` names the curve or convention; ``method`` how it was got (ultrasound, palpation,
    post mortem, spoken, calendar). ``reason`` is a short sentence part for the reader.
    ``rounding_days`` is the part of the error that comes from the unit spoken (weeks, months).
    ``from_memory``: the figures of the curve were recalled and not seen on a page.
    """

    days: float
    error_days: float
    age_from: AgeFrom
    source_id: str
    source: str
    method: str
    reason: str
    quantity: Quantity | None = None
    size_mm: float | None = None
    fetus: int | None = None
    rounding_days: float = 0.0
    from_memory: bool = False

    @property
    def standard_error_days(self) -> float:
        """Half of the half-width, in days."""
        return self.error_days / 2


@dataclass(frozen=True, slots=True)
class NoAge:
    """Why a measurement gives no age."""

    quantity: Quantity
    size_mm: float
    source_id: str
    reason: str
    fetus: int | None = None


def days_text(days: float) -> str:
    """Days as written for a reader: a whole number, or one decimal."""
    return f"{days:.1f}".removesuffix(".0")


def size_text(size_mm: float) -> str:
    """A size as written for a reader, without a trailing zero."""
    return f"{size_mm:g} mm"
