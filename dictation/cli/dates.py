"""The day of a visit as an option, the folder that is named by it, and what lies in there."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path

import click

from dictation.records.farms import Farm

WRITTEN = "Written to {}: exams.csv, findings.csv, visit.sqlite and audio."


@dataclass(frozen=True, slots=True)
class When:
    """The day of a visit, and the time of day at which its recording began where that was given."""

    on: date
    started_at: str | None = None


class VisitDate(click.ParamType[When]):
    """An ISO 8601 date, or a date and time."""

    name = "date"

    def convert(
        self, value: object, param: click.Parameter | None, ctx: click.Context | None
    ) -> When:
        """'2026-11-18' or '2026-11-18T09:00'."""
        if isinstance(value, When):
            return value
        text = str(value)
        try:
            return When(date.fromisoformat(text))
        except ValueError:
            pass
        try:
            moment = datetime.fromisoformat(text)
        except ValueError:
            self.fail(f"'{text}' is no date like 2026-11-18 or 2026-11-18T09:00.", param, ctx)
        return When(moment.date(), moment.isoformat(timespec="seconds"))


def folder_for(out: Path | None, on: date, farm: Farm | None = None) -> Path:
    """The folder of a visit: as given, else named by its date among the visits of the farm, or in
    the current folder."""
    if out is not None:
        return out
    return (Path() if farm is None else farm.visits) / f"visit-{on.isoformat()}"
