"""Visits written into a folder, as phrases are said and things put right in turn."""

from __future__ import annotations

from pathlib import Path

from dictation.decide.record import Record
from dictation.visit.facts import VisitOpened
from dictation.visit.inputs import By, Deed, Noted
from dictation.visit.journal import Journal
from tests.decide.spoken import ON, Chatter, Unsure, given_of

Said = str | Unsure | Chatter | Deed | tuple[Deed, By]


def visit_in(folder: Path, *said: Said) -> Path:
    """The folder of a visit in which this was said and done; what has no name with it, by anna."""
    with Journal.write(folder) as journal:
        record = Record(journal)
        record.take(Noted(VisitOpened(ON)))
        for each in said:
            if isinstance(each, str | Unsure | Chatter):
                record.take(given_of(record.visit, each))
            else:
                deed, by = each if isinstance(each, tuple) else (each, By("anna"))
                record.take(deed, by)
    return folder
