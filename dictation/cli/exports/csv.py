"""``export --to csv``: every exam and every finding."""

from __future__ import annotations

from pathlib import Path

from dictation.cli.exports.wanted import Wanted
from dictation.records.visit_files import write_records, write_visit_files


def write(wanted: Wanted) -> tuple[Path, ...]:
    """exams.csv, findings.csv and questions.csv."""
    if wanted.out.resolve() == wanted.folder.resolve():
        return write_visit_files(wanted.folder, wanted.visit, wanted.flags)
    return write_records(wanted.out, wanted.visit, wanted.flags)
