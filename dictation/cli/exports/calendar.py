"""``export --to calendar``: the days ahead of each animal."""

from __future__ import annotations

from pathlib import Path

from dictation.cli.exports.wanted import Wanted
from dictation.records.diary import write_calendar
from dictation.visit.origin import origin_of


def write(wanted: Wanted) -> tuple[Path, ...]:
    """calendar.ics."""
    origin = origin_of(wanted.folder)
    return (write_calendar(wanted.out, wanted.visit.exams, origin, wanted.visit.farm),)
