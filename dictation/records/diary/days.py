"""One animal's days as events: what, when, and what to know."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from dictation.records.ahead import ahead_of
from grammar.dating.calving import DRY_PERIOD_SOURCE
from grammar.exam import Exam, FindingState, RecordedFinding
from grammar.figures import DueDate
from grammar.findings import Plan, PlanAction, Pregnancy, PregnancyStatus


class Purpose(StrEnum):
    """What a day is for. Part of an event's identifier: a name is never given another meaning."""

    RECHECK = "recheck"
    SEXING = "sexing"
    DRY_OFF = "dry_off"
    CALVING = "calving"


@dataclass(frozen=True, slots=True)
class Day:
    """An all-day event from ``first`` to ``last``; ``cancelled``: it was told and holds no more."""

    exam: int
    purpose: Purpose
    first: date
    last: date
    title: str
    words: str
    cancelled: bool = False


RECORDED = "As recorded at the visit of {on}. The vet decides."


def days_of(exam: Exam) -> tuple[Day, ...]:
    """The days ahead of an animal, by date. One that lies before the visit is left out."""
    ahead = ahead_of(exam)
    who = _who(exam)
    found: dict[Purpose, Day] = {}

    def put(purpose: Purpose, first: date, last: date, title: str, words: str = "") -> None:
        if ahead.signs_of_loss and purpose is not Purpose.RECHECK:
            title = f"{title}, if not lost"
            words = f"Said of her too: {'; '.join(ahead.signs_of_loss)}. {words}"
        told = f"{words} {RECORDED.format(on=exam.on_date.isoformat())}".strip()
        if last >= exam.on_date:
            found[purpose] = Day(exam.number, purpose, first, last, f"{title}: {who}", told)

    if ahead.recheck is not None:
        put(Purpose.RECHECK, ahead.recheck, ahead.recheck, "Recheck")
    if ahead.sexing is not None:
        window = ahead.sexing
        put(Purpose.SEXING, window.first, window.last, "Calf sex can be seen", window.source + ".")
    if ahead.dry_off is not None:
        days = exam.settings.dry_period_days
        words = f"{days} days before the expected calving ({DRY_PERIOD_SOURCE})."
        put(Purpose.DRY_OFF, ahead.dry_off, ahead.dry_off, "Dry off", words)
    if ahead.calving is not None:
        due = ahead.calving
        put(Purpose.CALVING, due.on, due.on, "Expected to calve", _spread(due))
    cancelled = (_gone(exam, purpose, who) for purpose in Purpose if purpose not in found)
    every = (*found.values(), *(day for day in cancelled if day is not None))
    return tuple(sorted(every, key=lambda day: (day.first, day.purpose)))


def _who(exam: Exam) -> str:
    return f"tag {exam.tag}" if exam.tag is not None else f"exam {exam.number}"


def _spread(due: DueDate) -> str:
    return (
        f"Nineteen in twenty calve from {due.earliest.isoformat()} to {due.latest.isoformat()}"
        f" ({due.gestation.mean_days} days, {due.gestation.breed})."
    )


def _gone(exam: Exam, purpose: Purpose, who: str) -> Day | None:
    """A day that an earlier export may have told, and that was taken back or corrected since."""
    if not any(_changed(recorded, purpose) for recorded in exam.recorded):
        return None
    words = "Taken back after it was told."
    title = f"No longer: {purpose.replace('_', ' ')}: {who}"
    return Day(exam.number, purpose, exam.on_date, exam.on_date, title, words, cancelled=True)


def _changed(recorded: RecordedFinding, purpose: Purpose) -> bool:
    if recorded.state not in (FindingState.WITHDRAWN, FindingState.CORRECTED):
        return False
    finding = recorded.finding
    if purpose is Purpose.RECHECK:
        return isinstance(finding, Plan) and finding.action is PlanAction.RECHECK
    return isinstance(finding, Pregnancy) and (
        finding.status is PregnancyStatus.PREGNANT or recorded.state is FindingState.CORRECTED
    )
