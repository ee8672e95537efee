"""How days are counted, and the classes that are made of counts of days.

The day of service is day 0 (so the papers on early diagnosis and sexing count). The age on a date
is the number of midnights since; the service date is the date less the age. Printed gestation
charts often count the service day as day 1 and are then one day early; they are not followed.
"""

from __future__ import annotations

from datetime import date, timedelta
from enum import StrEnum


class LossClass(StrEnum):
    """What the loss of a pregnancy is called by its age."""

    EMBRYONIC = "embryonic loss"
    ABORTION = "abortion"
    STILLBIRTH = "stillbirth"


LOSS_SOURCE = (
    "NDSU extension 2018 (embryonic to 42 d); Committee on Bovine Reproductive Nomenclature 1972 "
    "(from memory); Berglund et al. 2003, Acta Vet Scand 44:111-120 (stillbirth from 260 d); law "
    "differs: Great Britain under 271 d after service, France from 42 d to 48 h after term"
)
#: From here on what a loss is called is not what the law of every country calls it.
ABORTION_BY_LAW_FROM_DAY = 260


def age_on(service_day: date, on: date) -> int:
    """Days from service to ``on``; negative where the service lies after it."""
    return (on - service_day).days


def days_before(on: date, days: int) -> date | None:
    """The date ``days`` before ``on``; None where the calendar does not reach so far."""
    try:
        return on - timedelta(days=days)
    except OverflowError:
        return None


def service_day(on: date, age_days: float) -> date | None:
    """The day of service of a pregnancy of ``age_days`` on ``on``; halves count as a day more."""
    return days_before(on, whole_days(age_days))


def whole_days(days: float) -> int:
    """Days as a whole number, halves up (25.5 is 26)."""
    return int(days + 0.5) if days >= 0 else -int(-days + 0.5)


def loss_class(age_days: float) -> LossClass:
    """What a pregnancy found dead at this age is called: to day 42, to day 259, from day 260."""
    if age_days <= 42:
        return LossClass.EMBRYONIC
    return LossClass.ABORTION if age_days < 260 else LossClass.STILLBIRTH
