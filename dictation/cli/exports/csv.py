"""``export --to csv``: every exam and every finding."""

from __future__ import annotations

from pathlib import Path

from dictation.cli.exports.wanted import Wanted
from dictation.records.csv_files import write_csv


def write(wanted: Wanted) -> tuple[Path, ...]:
    """exams.csv and findings.csv."""
    return write_csv(wanted.out, wanted.visit.exams, wanted.flags)
