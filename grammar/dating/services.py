"""Which of an animal's services a pregnancy fits."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from math import hypot

from grammar.ageing.estimate import AgeEstimate, AgeFrom, days_text
from grammar.dating.breeds import breeds_of, breeds_of_bull
from grammar.dating.days import age_on, days_before
from grammar.exam import Service
from grammar.findings import History, PastEvent

# Ultrasound papers count from ovulation, about a day after service; our allowance.
SERVICE_ERROR_DAYS = 1.0
FIT_STANDARD_ERRORS = 2.0
# Remnant 2019: a return after one cycle comes at 18 to 24 days.
ONE_CYCLE_DAYS = (18, 24)


@dataclass(frozen=True, slots=True)
class Candidate:
    """A service beside an age: ages in days it allows, and how far the age lies from them.

    ``difference_days``: service age less the age given, 0 inside a mating period.
    """

    service: Service
    low_days: int
    high_days: int
    difference_days: float = 0.0
    standard_errors: float = 0.0

    @property
    def estimate(self) -> AgeEstimate:
        """The age by this service: the day count, or the middle of a mating period."""
        half = (self.high_days - self.low_days) / 2
        return AgeEstimate(
            days=self.low_days + half,
            error_days=half + SERVICE_ERROR_DAYS,
            age_from=AgeFrom.SERVICE,
            source_id="service",
            source="calendar, day of service = 0",
            method="calendar",
            reason=f"service {service_text(self.service)}",
        )


@dataclass(frozen=True, slots=True)
class ServiceFit:
    """Which service a pregnancy fits and why. ``also``: other services that fit as well.

    ``chosen`` is None where none is known, none fits, or nothing tells them apart.
    """

    chosen: Candidate | None
    reason: str
    candidates: tuple[Candidate, ...] = ()
    also: tuple[Candidate, ...] = ()


def service_text(service: Service) -> str:
    """The day of a service, or the first and last day of a mating period."""
    if service.natural and service.last_day is None:
        return f"by the bull from {service.first_day.isoformat()} on"
    if service.last_day is None or service.last_day == service.first_day:
        return service.first_day.isoformat()
    return f"{service.first_day.isoformat()} to {service.last_day.isoformat()}"


def bull_breeds(service: Service) -> tuple[str, ...]:
    """The breeds of the bull: as listed, else as his code says; () where nobody says."""
    return breeds_of(service.sire_breed) or breeds_of_bull(service.sire) or ()


def spoken_services(histories: Iterable[History], on: date) -> tuple[Service, ...]:
    """Services spoken of in the exam: 'served forty days ago', 'served on the third of May'."""
    days = {
        day
        for history in histories
        if history.event is PastEvent.SERVED and (day := event_day(history, on)) is not None
    }
    return tuple(Service(day) for day in sorted(days))


def event_day(history: History, on: date) -> date | None:
    """The day of an event spoken of; None where no day was said or it lies before the calendar."""
    if history.on_date is not None or history.days_ago is None:
        return history.on_date
    return days_before(on, history.days_ago)


def fit_services(services: Sequence[Service], on: date, age: AgeEstimate | None) -> ServiceFit:
    """The service that fits ``age`` on ``on``: the nearest within 2 standard errors.

    Without an age a single service is taken, and of several none. A mating period fits where the
    age falls in it. Of two that fit equally the later is taken, and the other is named.
    """
    past = [_candidate(service, on, age) for service in services if service.first_day <= on]
    past.sort(key=lambda c: (abs(c.standard_errors), c.low_days, c.high_days))
    candidates = tuple(past)
    if not candidates:
        return ServiceFit(None, "no service before the exam is known")
    if age is None:
        if len(candidates) == 1:
            return ServiceFit(candidates[0], "the only service known", candidates)
        reason = f"{len(candidates)} services are known and no age to choose by"
        return ServiceFit(None, reason, candidates)
    fits = [c for c in candidates if abs(c.standard_errors) <= FIT_STANDARD_ERRORS]
    if not fits:
        nearest = candidates[0]
        reason = (
            f"no service fits {days_text(age.days)} days: the nearest, "
            f"{service_text(nearest.service)}, "
            f"is {days_text(abs(nearest.difference_days))} days off"
        )
        return ServiceFit(None, reason, candidates)
    reason = f"service {service_text(fits[0].service)} is nearest to {days_text(age.days)} days"
    return ServiceFit(fits[0], reason, candidates, tuple(fits[1:]))


def _candidate(service: Service, on: date, age: AgeEstimate | None) -> Candidate:
    high = age_on(service.first_day, on)
    low = age_on(service.until(on), on)
    if age is None:
        return Candidate(service, low, high)
    difference = min(0.0, high - age.days) + max(0.0, low - age.days)
    error = hypot(age.standard_error_days, SERVICE_ERROR_DAYS / 2)
    return Candidate(service, low, high, difference, difference / error)
