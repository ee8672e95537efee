"""One line an exam: what a summary of many visits needs to know of it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from dictation.records.ahead import is_lost
from dictation.records.exam_rows import status_of
from dictation.records.settled import doubtful_identity, settled, status_in_doubt
from dictation.visit.state import Visit
from grammar.dating.calving import SEEN_FROM_COW
from grammar.exam import Exam, FindingState, Service
from grammar.facts import ExamFacts, facts_of
from grammar.findings import PregnancyStatus


@dataclass(frozen=True, slots=True)
class ExamLine:
    """Plain values, one column each. ``status``: pregnant, open, uncertain, lost or None.

    ``service_on``: the service that the result is about; ``service_number``: which of her lactation
    that was, from 1. ``stated_days``, ``measured_days``: ages of one pregnancy side by side, with
    ``measured_error_days``. ``asked``: whether anything said of her was asked about; ``unsettled``:
    whether something still is. ``tag`` is None where it is not certain which animal it was.
    """

    on_date: date
    exam: int
    tag: str | None
    status: str | None
    service_on: date | None
    service_number: int | None
    sire: str | None
    inseminator: str | None
    age_days: float | None
    stated_days: float | None
    measured_days: float | None
    measured_error_days: float | None
    findings: int
    asked: bool
    unsettled: bool


def lines_of(visit: Visit) -> tuple[ExamLine, ...]:
    """The lines of a visit, in the order of its exams."""
    return tuple(line_of(exam, asked) for exam, asked in exams_asked(visit))


def exams_asked(visit: Visit) -> Iterator[tuple[Exam, bool]]:
    """Each exam, and whether anything was ever asked of her."""
    asked = frozenset(query.exam for query in visit.all_queries.values())
    return ((exam, exam.number in asked) for exam in visit.exams)


def line_of(exam: Exam, asked: bool) -> ExamLine:
    """The line of one exam."""
    facts = facts_of(settled(exam))
    status = _status(exam, facts)
    number, service = _service(facts, status)
    ages = facts.ages
    measured = ages.measured.estimate
    pregnant = status == PregnancyStatus.PREGNANT
    best = ages.best if pregnant else None
    queried = any(r.state is FindingState.QUERIED for r in exam.recorded)
    return ExamLine(
        on_date=exam.on_date,
        exam=exam.number,
        tag=None if doubtful_identity(exam) is not None else exam.tag,
        status=status,
        service_on=None if service is None else service.first_day,
        service_number=number,
        sire=None if service is None else service.sire,
        inseminator=None if service is None else service.inseminator,
        age_days=None if best is None else best.days,
        stated_days=ages.stated.days if pregnant and ages.stated is not None else None,
        measured_days=measured.days if pregnant and measured is not None else None,
        measured_error_days=measured.error_days if pregnant and measured is not None else None,
        findings=len(exam.standing),
        asked=asked or queried,
        unsettled=queried or bool(exam.open_queries),
    )


def _status(exam: Exam, facts: ExamFacts) -> str | None:
    if status_in_doubt(exam):
        return None
    if is_lost(facts):
        return "lost"
    status = status_of(facts.exam)
    return None if status is None else str(status)


def _service(facts: ExamFacts, status: str | None) -> tuple[int | None, Service | None]:
    """The service a result is about: of a pregnancy the one that fits, else the last old enough."""
    mine = _of_this_lactation(facts)
    if status == PregnancyStatus.PREGNANT:
        chosen = facts.ages.fit.chosen
        service = None if chosen is None else chosen.service
    elif status == PregnancyStatus.OPEN:
        # A younger pregnancy could not have been seen, so of a later service this says nothing.
        old = [s for s in mine if (facts.on - (s.last_day or s.first_day)).days >= SEEN_FROM_COW]
        service = old[-1] if old else None
    else:
        service = None
    if service is None:
        return None, None
    return (mine.index(service) + 1 if service in mine else None), service


def _of_this_lactation(facts: ExamFacts) -> list[Service]:
    calved = facts.exam.known.calved_on if facts.exam.known is not None else None
    mine = [s for s in facts.services if calved is None or s.first_day > calved]
    return sorted(mine, key=lambda s: s.first_day)
