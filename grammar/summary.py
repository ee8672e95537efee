"""The age and dates of an exam for a row of exams.csv."""

from __future__ import annotations

from datetime import date

from grammar.ageing.estimate import AgeEstimate, AgeFrom
from grammar.dating.calving import dry_off_date, due_date, is_over
from grammar.dating.days import service_day, whole_days
from grammar.dating.gestation import GestationLength, gestation_length
from grammar.dating.services import bull_breeds
from grammar.exam import Exam
from grammar.facts import ExamFacts, facts_of, once
from grammar.figures import AgeSummary, ServiceDateFrom


def summarise_age(exam: Exam) -> AgeSummary:
    """Age, service date and due date of an exam, with where each comes from."""
    return summarise(facts_of(exam))


def summarise(facts: ExamFacts) -> AgeSummary:
    """As ``summarise_age``, of facts already gathered.

    An approved exam keeps the figures that it was approved with.
    """
    approved = facts.exam.approved
    return reckoned(facts) if approved is None else approved.age


@once
def reckoned(facts: ExamFacts) -> AgeSummary:
    """The figures as this version reckons them, whatever was approved."""
    if not facts.pregnant or facts.open:
        return AgeSummary()
    age = facts.ages.best
    day, day_from, error = _service_date(facts, age)
    due = None if day is None else due_date(day, gestation(facts), error)
    if due is not None and is_over(due, facts.on):
        due = None
    return AgeSummary(
        age_days=None if age is None else whole_days(age.days),
        age_from=None if age is None else age.age_from,
        age_error_days=None if age is None else round(age.error_days, 1),
        service_date=day,
        service_date_from=day_from,
        due_date=None if due is None else due.on,
        due=due,
        dry_off=None if due is None else dry_off_date(due.on, facts.exam.settings.dry_period_days),
    )


@once
def gestation(facts: ExamFacts) -> GestationLength:
    """The length to reckon with, by what is known of her and of the bull."""
    breed = facts.exam.known.breed if facts.exam.known is not None else None
    return gestation_length(breed, facts.heifer, (facts.fetuses or 1) > 1, _sire(facts))


def _sire(facts: ExamFacts) -> tuple[str, ...]:
    """The breed of the bull whose service fits, or of every bull; () where nobody says."""
    chosen = facts.ages.fit.chosen
    services = facts.services if chosen is None else (chosen.service,)
    breeds = {bull_breeds(service) for service in services}
    return breeds.pop() if len(breeds) == 1 else ()


def _service_date(
    facts: ExamFacts, age: AgeEstimate | None
) -> tuple[date | None, ServiceDateFrom | None, float]:
    """The service date, whence, and the half-width of its error in days."""
    fit = facts.ages.fit
    # Word and measure at odds: the one insemination known holds where either agrees with it.
    if facts.ages.contradict and (fit.chosen is None or len(fit.candidates) > 1):
        return None, None, 0.0
    chosen = fit.chosen
    if chosen is not None and chosen.service.single:
        return chosen.service.first_day, ServiceDateFrom.RECORDED, chosen.estimate.error_days
    # Within a time with a bull the age says the day; the time alone says only its middle, and
    # nothing at all where nobody knows when it ended.
    fitted = facts.ages.measured.estimate or age
    if fitted is None or (fitted.age_from is AgeFrom.SERVICE and _bull_still_in(facts)):
        return None, None, 0.0
    return service_day(facts.on, fitted.days), ServiceDateFrom.COUNTED_BACK, fitted.error_days


def _bull_still_in(facts: ExamFacts) -> bool:
    chosen = facts.ages.fit.chosen
    return chosen is not None and chosen.service.last_day is None
