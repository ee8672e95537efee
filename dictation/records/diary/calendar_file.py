"""The iCalendar file of a visit."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

from dictation.records.diary.days import Day, days_of
from dictation.records.one_line import one_line
from dictation.records.writing import replace_file
from dictation.visit.origin import Origin
from grammar.exam import Exam

CALENDAR_NAME = "calendar.ics"
PRODUCT = "-//hornsweep//visit calendar 1//EN"


def calendar(exams: tuple[Exam, ...], origin: Origin, farm: str | None = None) -> bytes:
    """The content of the file: CRLF, UTF-8, lines folded at 75 octets."""
    from icalendar import Calendar

    file = Calendar()
    file.add("prodid", PRODUCT)
    file.add("version", "2.0")
    file.add("calscale", "GREGORIAN")
    file.add("method", "PUBLISH")
    for exam in exams:
        for day in days_of(exam):
            file.add_component(_event(day, origin, farm))
    content: bytes = file.to_ical()
    return content


def write_calendar(
    folder: Path, exams: tuple[Exam, ...], origin: Origin, farm: str | None = None
) -> Path:
    """Write the file into a folder; its path. Raises MissingError."""
    path = folder / CALENDAR_NAME
    replace_file(path, calendar(exams, origin, farm))
    return path


def _event(day: Day, origin: Origin, farm: str | None):  # type: ignore[no-untyped-def]
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
    event.add("description", one_line(day.words))
    event.add("categories", [day.purpose.replace("_", " ")])
    event.add("transp", "TRANSPARENT")
    event.add("status", "CANCELLED" if day.cancelled else "CONFIRMED")
    if farm:
        event.add("location", one_line(farm))
    return event
