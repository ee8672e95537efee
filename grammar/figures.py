"""The age and dates that are reckoned for an exam, and as they were when a person approved it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from grammar.ageing.estimate import AgeFrom
from grammar.dating.gestation import GestationLength


@dataclass(frozen=True, slots=True)
class DueDate:
    """The expected day of calving; ``earliest`` and ``latest`` lie two ``sd_days`` from it.

    ``sd_days`` joins the spread of gestation and the error of the service date.
    """

    on: date
    earliest: date
    latest: date
    sd_days: float
    gestation: GestationLength


class ServiceDateFrom(StrEnum):
    """Whether a service date was recorded or counted back from an age."""

    RECORDED = "recorded"
    COUNTED_BACK = "counted back"


@dataclass(frozen=True, slots=True)
class AgeSummary:
    """Age and dates of one exam; every field None where she is not recorded pregnant.

    ``age_days`` is as stated, else as measured, else by the service that fits; ``age_error_days``
    the half-width of its error. ``service_date`` is the recorded service that fits the age, else
    the exam date less the age. ``due_date`` follows from the service date, ``due`` has its spread.
    Where the stated and the measured age contradict each other, no date is given until settled,
    unless the one service known agrees with either; no due date is given that is past.
    """

    age_days: int | None = None
    age_from: AgeFrom | None = None
    age_error_days: float | None = None
    service_date: date | None = None
    service_date_from: ServiceDateFrom | None = None
    due_date: date | None = None
    due: DueDate | None = None
    dry_off: date | None = None
