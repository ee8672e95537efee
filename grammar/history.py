"""Earlier visits of a herd: joining them to today's exams, and rechecks that were not done."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from grammar.exam import Exam
from grammar.findings import Plan, PlanAction

# A recheck done within a week of its day is on time; common practice, no source.
RECHECK_GRACE_DAYS = 7


@dataclass(frozen=True, slots=True)
class MissedRecheck:
    """A recheck asked for at an earlier exam and not done by its day and a week."""

    tag: str
    asked_on: date
    due_on: date
    exam: int


def with_earlier(
    exams: Sequence[Exam], earlier_visits: Iterable[Sequence[Exam]]
) -> tuple[Exam, ...]:
    """Today's exams, each with the earlier exams of the same tag that lie before its date.

    Of a visit still open, or of the same day, nothing is taken.
    """
    by_tag: dict[str, list[Exam]] = {}
    for visit in earlier_visits:
        for exam in visit:
            if exam.tag is not None:
                by_tag.setdefault(exam.tag, []).append(exam)
    joined = []
    for exam in exams:
        past = [e for e in by_tag.get(exam.tag or "", ()) if e.on_date < exam.on_date]
        past.sort(key=lambda e: (e.on_date, e.number))
        joined.append(replace(exam, earlier=tuple(past)) if past else exam)
    return tuple(joined)


def recheck_day(exam: Exam) -> date | None:
    """The day for which a recheck was asked at an exam, the first of several; None where none."""
    days = []
    for finding in exam.findings:
        if not isinstance(finding, Plan) or finding.action is not PlanAction.RECHECK:
            continue
        if finding.on_date is not None:
            days.append(finding.on_date)
        elif finding.in_days is not None and 0 <= finding.in_days <= 3650:
            days.append(exam.on_date + timedelta(days=finding.in_days))
    return min(days, default=None)


def missed_rechecks(exams: Iterable[Exam], on: date) -> tuple[MissedRecheck, ...]:
    """Rechecks of all ``exams`` of a herd that were not done by ``on``, by day and tag.

    A recheck is done by any later exam of the tag up to a week after its day.
    """
    by_tag: dict[str, list[Exam]] = {}
    for exam in exams:
        if exam.tag is not None and exam.on_date <= on:
            by_tag.setdefault(exam.tag, []).append(exam)
    missed = []
    for tag, mine in by_tag.items():
        for exam in mine:
            day = recheck_day(exam)
            if day is None or day + timedelta(days=RECHECK_GRACE_DAYS) >= on:
                continue
            last = day + timedelta(days=RECHECK_GRACE_DAYS)
            if not any(exam.on_date < other.on_date <= last for other in mine):
                missed.append(MissedRecheck(tag, exam.on_date, day, exam.number))
    return tuple(sorted(missed, key=lambda m: (m.due_on, m.tag, m.asked_on)))
