"""``export --to csv``: every exam and every finding."""

from __future__ import annotations

from pathlib import Path

from dictation.cli.exports.wanted import Wanted
from dictation.records.csv_files import write_csv
from dictation.records.visit_files import write_visit_files


def write(wanted: Wanted) -> tuple[Path, ...]:
    """exams.csv and findings.csv."""
    if wanted.out.resolve() == wanted.folder.resolve():
        return write_visit_files(wanted.folder, wanted.visit, wanted.flags)
    return write_csv(wanted.out, wanted.visit.exams, wanted.flags)
