"""The age and dates of an exam for a row of exams.csv."""

from __future__ import annotations

from datetime import date

from grammar.ageing.estimate import AgeEstimate
from grammar.dating.calving import dry_off_date, due_date
from grammar.dating.days import service_day, whole_days
from grammar.dating.gestation import gestation_length
from grammar.exam import Exam
from grammar.facts import ExamFacts, facts_of
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


def reckoned(facts: ExamFacts) -> AgeSummary:
    """The figures as this version reckons them, whatever was approved."""
    if not facts.pregnant or facts.open:
        return AgeSummary()
    age = facts.ages.best
    day, day_from, error = _service_date(facts, age)
    due = None
    if day is not None:
        breed = facts.exam.known.breed if facts.exam.known is not None else None
        length = gestation_length(breed, facts.heifer, (facts.fetuses or 1) > 1)
        due = due_date(day, length, error)
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


def _service_date(
    facts: ExamFacts, age: AgeEstimate | None
) -> tuple[date | None, ServiceDateFrom | None, float]:
    """The service date, whence, and the half-width of its error in days."""
    if facts.ages.contradict:
        return None, None, 0.0
    chosen = facts.ages.fit.chosen
    if chosen is not None and chosen.low_days == chosen.high_days:
        return chosen.service.first_day, ServiceDateFrom.RECORDED, chosen.estimate.error_days
    # Within a mating period the age says the day; the period alone says only its middle.
    fitted = facts.ages.measured.estimate or age
    if fitted is None:
        return None, None, 0.0
    return service_day(facts.on, fitted.days), ServiceDateFrom.COUNTED_BACK, fitted.error_days
