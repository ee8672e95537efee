"""Dates that follow from a service date: calving, drying off, sexing, and the next looks."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from math import ceil, hypot

from grammar.dating.gestation import GestationLength
from grammar.exam import CheckSettings
from grammar.figures import DueDate

# Eastridge, Ohio State dairy newsletter; Penn State 1996: 60 d dry, 30 d too short in the field;
# Bradford (Michigan State): 50 to 60 d in practice.
DRY_PERIOD_SOURCE = "Ohio State dairy newsletter and Penn State 1996 (60 d); 50-60 d in practice"


@dataclass(frozen=True, slots=True)
class Window:
    """A span of days for something to be done or seen; ``reason`` and ``source`` for the reader."""

    reason: str
    first: date
    last: date
    source: str


def due_date(
    service_day: date, gestation: GestationLength, service_error_days: float = 0.0
) -> DueDate | None:
    """Service day (day 0) plus the length. ``service_error_days``: half-width, about 95 %.

    None where the calendar does not reach so far.
    """
    sd = hypot(gestation.sd_days, service_error_days / 2)
    try:
        on = service_day + timedelta(days=gestation.mean_days)
        spread = timedelta(days=ceil(2 * sd))
        return DueDate(on, on - spread, on + spread, sd, gestation)
    except OverflowError:
        return None


def is_over(due: DueDate, on: date) -> bool:
    """Whether even a long gestation would have ended before ``on``; the spread is of gestation."""
    return due.on + timedelta(days=ceil(2 * due.gestation.sd_days)) < on


def dry_off_date(due: date, dry_period_days: int = 60) -> date:
    """The day to dry off for a dry period of so many days; 60 unless the practice sets another."""
    return due - timedelta(days=dry_period_days)


def next_sexing(service_day: date, on: date, settings: CheckSettings) -> Window | None:
    """What is left of the days on which fetal sex is called well; None when they are over."""
    first = service_day + timedelta(days=settings.sexing_from_day)
    last = service_day + timedelta(days=settings.sexing_to_day)
    if on > last:
        return None
    source = "68 cows: 56-80 d; 15 cows: 56-98 d (abstracts on fetal sexing by ultrasound)"
    return Window("fetal sex can be called", max(on, first), last, source)


# Romano et al. 2006, Theriogenology: sensitivity 74.5 % at day 24 and 100 % at 29 in cows; 50 % at
# day 21 and 100 % at 26 in heifers.
SURE_FROM_COW, SURE_FROM_HEIFER = 29, 26
SEEN_FROM_COW, SEEN_FROM_HEIFER = 24, 21
ROMANO = "Romano et al. 2006, Theriogenology (100 % from day 29 in cows, day 26 in heifers)"
