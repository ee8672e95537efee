"""Whether the CSV files of a visit say what its journal says."""

from __future__ import annotations

from pathlib import Path

from dictation.intake.reading import read_visit
from dictation.records.visit_files import EXAMS_NAME, FINDINGS_NAME, exams_csv, findings_csv
from dictation.visit.state import Visit


def whole(folder: Path) -> Visit:
    """The visit of a folder whose files match it, and beside which nothing is left over."""
    visit, flags = read_visit(folder)
    assert (folder / EXAMS_NAME).read_bytes() == exams_csv(visit.exams, flags)
    assert (folder / FINDINGS_NAME).read_bytes() == findings_csv(visit.exams)
    assert not list(folder.glob("*.part"))
    assert not list(folder.glob(".*.part"))
    return visit
