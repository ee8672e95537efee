"""The age of one pregnancy as stated, as measured and by service, side by side."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from math import hypot

from grammar.ageing.estimate import AgeEstimate, AgeFrom
from grammar.ageing.measured import MeasuredAge, measured_age
from grammar.ageing.stated import stated_age
from grammar.dating.services import FIT_STANDARD_ERRORS, ServiceFit, fit_services
from grammar.exam import Service
from grammar.findings import Measurement, Pregnancy


@dataclass(frozen=True, slots=True)
class Comparison:
    """Two ages beside each other: the first less the second, in days and in standard errors."""

    difference_days: float
    standard_errors: float


@dataclass(frozen=True, slots=True)
class Ages:
    """The three ages of a pregnancy; any may be lacking. ``fit``: which service fits and why."""

    stated: AgeEstimate | None
    measured: MeasuredAge
    fit: ServiceFit

    @property
    def service(self) -> AgeEstimate | None:
        """The age by the service that fits, if one does."""
        return None if self.fit.chosen is None else self.fit.chosen.estimate

    @property
    def best(self) -> AgeEstimate | None:
        """The age to go by: as stated, else as measured, else by service."""
        return self.stated or self.measured.estimate or self.service

    @property
    def contradict(self) -> bool:
        """Whether the stated and the measured age are more than 2 standard errors apart."""
        measured = self.measured.estimate
        if self.stated is None or measured is None:
            return False
        return abs(compare(self.stated, measured).standard_errors) > FIT_STANDARD_ERRORS


def compare(one: AgeEstimate, other: AgeEstimate) -> Comparison:
    """The disagreement of two ages.

    Stated and measured are read off one picture, so of the stated age only its rounding counts.
    """
    first_error = one.standard_error_days
    if one.age_from is AgeFrom.STATED and other.age_from is AgeFrom.MEASURED:
        first_error = one.rounding_days / 2
    difference = one.days - other.days
    error = hypot(first_error, other.standard_error_days)
    return Comparison(difference, difference / error)


def ages_of(
    pregnancies: Sequence[Pregnancy],
    measurements: Sequence[Measurement],
    services: Sequence[Service],
    on: date,
) -> Ages:
    """The three ages of one exam; the service is chosen by the measured age, else the stated."""
    stated = stated_age(pregnancies)
    measured = measured_age(measurements)
    fit = fit_services(services, on, measured.estimate or stated)
    if fit.chosen is None and fit.candidates and measured.estimate is not None and stated:
        by_stated = fit_services(services, on, stated)
        fit = fit if by_stated.chosen is None else by_stated
    return Ages(stated, measured, fit)
