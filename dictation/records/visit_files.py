"""What a visit's folder holds beside its journal and its sound, brought up to date."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from dictation.records.csv_files import write_csv
from dictation.records.practice.visit_lines import keep_lines
from dictation.records.questions_file import write_questions
from dictation.records.writing import remove_left_over
from dictation.visit.state import Visit
from grammar.exam import Flag


def write_visit_files(
    folder: Path, visit: Visit, flags: Mapping[int, tuple[Flag, ...]]
) -> tuple[Path, ...]:
    """The CSV files, whose paths are given, and the visit's lines for ``summary``.

    Quick enough to be called whenever an animal closes: only what changed is made and written.
    What a process that died in the middle of writing left in the folder is removed. Raises
    MissingError where the CSV files cannot be written.
    """
    remove_left_over(folder)
    paths = write_records(folder, visit, flags)
    keep_lines(folder, visit)
    return paths


def write_records(
    folder: Path, visit: Visit, flags: Mapping[int, tuple[Flag, ...]]
) -> tuple[Path, ...]:
    """The CSV files alone, into any folder. Raises MissingError where they cannot be written."""
    return (*write_csv(folder, visit.exams, flags), write_questions(folder, visit))
