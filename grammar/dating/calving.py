"""Dates that follow from a service date: calving, drying off, sexing, and the next looks."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from math import ceil, hypot

from grammar.dating.days import whole_days
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


def dry_off_date(due: date, dry_period_days: int = 60) -> date:
    """The day to dry off for a dry period of so many days; 60 unless the practice sets another."""
    return due - timedelta(days=dry_period_days)


def sexing_window(service_day: date, settings: CheckSettings | None = None) -> Window:
    """When fetal sex can be called well: days 56 to 98 unless set otherwise."""
    chosen = settings or CheckSettings()
    return Window(
        "fetal sex can be called",
        service_day + timedelta(days=chosen.sexing_from_day),
        service_day + timedelta(days=chosen.sexing_to_day),
        "68 cows: 56-80 d; 15 cows: 56-98 d (abstracts on fetal sexing by ultrasound)",
    )


def next_sexing(
    service_day: date, on: date, settings: CheckSettings | None = None
) -> Window | None:
    """What is left on ``on`` of the window in which fetal sex can be seen; None when it is over."""
    window = sexing_window(service_day, settings)
    if on > window.last:
        return None
    return Window(window.reason, max(on, window.first), window.last, window.source)


# Romano et al. 2006, Theriogenology: sensitivity 74.5 % at day 24 and 100 % at 29 in cows; 50 % at
# day 21 and 100 % at 26 in heifers.
SURE_FROM_COW, SURE_FROM_HEIFER = 29, 26
SEEN_FROM_COW, SEEN_FROM_HEIFER = 24, 21
ROMANO = "Romano et al. 2006, Theriogenology (100 % from day 29 in cows, day 26 in heifers)"


def dated(on: date, age_days: float) -> date:
    """A service date counted back from an age that is known to lie within the calendar."""
    return on - timedelta(days=whole_days(age_days))
