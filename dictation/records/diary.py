"""The days ahead of each animal as an iCalendar file (RFC 5545).

In: the exams of a visit. Out: one all-day event a purpose and animal. An event keeps its identifier
for ever and its sequence number grows with the journal, so that a second import updates it and adds
none; what no longer holds is sent once more as cancelled.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum
from pathlib import Path

from dictation.disk import replace_file
from dictation.records.ahead import (
    ahead_of,
    doubtful_identity,
    is_lost,
    settled,
    status_in_doubt,
)
from dictation.records.one_line import one_line
from dictation.visit.journal_state import Origin
from grammar.dating.calving import DRY_PERIOD_SOURCE
from grammar.exam import Exam, FindingState, RecordedFinding
from grammar.facts import facts_of
from grammar.findings import Plan, PlanAction, Pregnancy, PregnancyStatus

CALENDAR_NAME = "calendar.ics"
RECORDED = "As recorded at the visit of {on}. The vet decides."
PRODUCT = "-//hornsweep//visit calendar 1//EN"


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


def calendar(
    exams: tuple[Exam, ...], origin: Origin, farm: str | None = None, standing: str = ""
) -> bytes:
    """The content of the file: CRLF, UTF-8, lines folded at 75 octets. ``standing``: who approved
    the visit, for the description of the calendar (RFC 7986, 5.2) and of each event."""
    from icalendar import Calendar

    file = Calendar()
    told = {"prodid": PRODUCT, "version": "2.0", "calscale": "GREGORIAN", "method": "PUBLISH"}
    for name, value in told.items():
        file.add(name, value)
    if standing:
        file.add("description", one_line(standing))
    for exam in exams:
        for day in days_of(exam):
            sure = not exam.open_queries
            file.add_component(_event(day, origin, farm, standing, sure=sure))
    content: bytes = file.to_ical()
    return content


def write_calendar(
    folder: Path,
    exams: tuple[Exam, ...],
    origin: Origin,
    farm: str | None = None,
    standing: str = "",
) -> Path:
    """Write the file into a folder; its path. Raises MissingError."""
    path = folder / CALENDAR_NAME
    replace_file(path, calendar(exams, origin, farm, standing))
    return path


def _event(  # type: ignore[no-untyped-def]
    day: Day, origin: Origin, farm: str | None, standing: str, *, sure: bool
):
    from icalendar import Event

    event = Event()
    event.add("uid", f"{origin.identifier(day.exam, 'calendar', day.purpose)}@hornsweep")
    event.add("dtstamp", origin.changed_at)
    event.add("last-modified", origin.changed_at)
    event.add("sequence", origin.revision)
    event.add("dtstart", day.first)
    # The end of an all-day event is the first day that is no part of it (RFC 5545, 3.6.1).
    event.add("dtend", day.last + timedelta(days=1))
    event.add("summary", one_line(day.title))
    signed = f" The visit: {standing}." if standing else ""
    event.add("description", one_line(day.words + signed))
    event.add("categories", [day.purpose.replace("_", " ")])
    event.add("transp", "TRANSPARENT")
    held = "CONFIRMED" if sure else "TENTATIVE"
    event.add("status", "CANCELLED" if day.cancelled else held)
    if farm:
        event.add("location", one_line(farm))
    return event


def left_out_words(exams: tuple[Exam, ...]) -> str:
    """Who has no day of calving though she was said to be in calf, and why; in one line."""
    reasons: dict[str, list[str]] = {}
    for exam in exams:
        said = [f.status for f in exam.findings if isinstance(f, Pregnancy)]
        if PregnancyStatus.PREGNANT in said and ahead_of(exam).calving is None:
            why = doubtful_identity(exam) or (
                "whether she is in calf is not settled" if status_in_doubt(exam) else _no_day(exam)
            )
            reasons.setdefault(why, []).append(exam.tag or f"exam {exam.number}")
    told = "; ".join(f"{', '.join(whose)} ({why})" for why, whose in reasons.items())
    return f"Left out, no day of calving: {told}." if told else ""


def _no_day(exam: Exam) -> str:
    facts = facts_of(settled(exam))
    return "lost" if is_lost(facts) else "no age or service to reckon with, or they contradict"


def days_of(exam: Exam) -> tuple[Day, ...]:
    """The days ahead of an animal, by date. One that lies before the visit is left out."""
    ahead = ahead_of(exam)
    who = f"tag {exam.tag}" if exam.tag is not None else f"exam {exam.number}"
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
        words = (
            f"Two standard deviations either way: {due.earliest.isoformat()} to"
            f" {due.latest.isoformat()} ({due.gestation.mean_days} days, {due.gestation.breed})."
        )
        put(Purpose.CALVING, due.on, due.on, "Expected to calve", words)
    cancelled = (_gone(exam, purpose, who) for purpose in Purpose if purpose not in found)
    every = (*found.values(), *(day for day in cancelled if day is not None))
    return tuple(sorted(every, key=lambda day: (day.first, day.purpose)))


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
