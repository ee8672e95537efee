"""What an earlier visit found of an animal, for whoever plans the next one."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from dictation.records.ahead import is_lost
from dictation.records.exam_rows import status_of
from dictation.records.settled import doubtful_identity, settled, status_in_doubt
from grammar.dating.calving import SEEN_FROM_COW
from grammar.exam import Exam, Service
from grammar.facts import ExamFacts, facts_of
from grammar.findings import PregnancyStatus


@dataclass(frozen=True, slots=True)
class EarlierResult:
    """A clear result. ``service``: the one it is of; reckoned from her age where none is known.

    Of an open animal it is None: the result is of every service that could be seen by then.
    """

    on: date
    pregnant: bool
    service: Service | None = None

    def is_about(self, service: Service) -> bool:
        """Whether it still holds, where that was her last service.

        A service after a result says that she came into heat again; one shortly before an 'open'
        was too young to be seen.
        """
        days = (self.on - (service.last_day or service.first_day)).days
        return days >= (0 if self.pregnant else SEEN_FROM_COW)


def latest_results(exams: Iterable[Exam]) -> dict[str, EarlierResult]:
    """By tag the last clear result; one in doubt, or of an uncertain animal, is none."""
    found: dict[str, EarlierResult] = {}
    for exam in sorted(exams, key=lambda e: (e.on_date, e.number)):
        result = _result(exam)
        if exam.tag is not None and result is not None:
            found[exam.tag] = result
    return found


def _result(exam: Exam) -> EarlierResult | None:
    if doubtful_identity(exam) is not None or status_in_doubt(exam):
        return None
    facts = facts_of(settled(exam))
    status = status_of(facts.exam)
    if is_lost(facts) or status is PregnancyStatus.OPEN:
        return EarlierResult(exam.on_date, pregnant=False)
    if status is not PregnancyStatus.PREGNANT:
        return None
    return EarlierResult(exam.on_date, True, _service(facts))


def _service(facts: ExamFacts) -> Service | None:
    ages = facts.ages
    if ages.fit.chosen is not None:
        return ages.fit.chosen.service
    if ages.best is None:
        return None
    return Service(facts.on - timedelta(days=round(ages.best.days)))
