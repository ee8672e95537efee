"""What a visit's folder holds beside its journal and its sound, brought up to date."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from dictation.disk import bring_up_to_date, remove_left_over
from dictation.records.cells import table, table_rows
from dictation.records.exam_rows import EXAMS_HEADER, by_exam, exam_row
from dictation.records.findings_rows import FINDINGS_HEADER, finding_rows
from dictation.records.practice.visit_lines import keep_lines
from dictation.records.questions_file import QUESTIONS_NAME, questions_csv
from dictation.visit.state import Visit
from grammar.exam import Exam, Flag

EXAMS_NAME = "exams.csv"
FINDINGS_NAME = "findings.csv"


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
    paths = write_csv(folder, visit.exams, flags)
    questions = folder / QUESTIONS_NAME
    bring_up_to_date(questions, questions_csv(visit))
    return (*paths, questions)


def write_csv(
    folder: Path, exams: tuple[Exam, ...], flags: Mapping[int, tuple[Flag, ...]]
) -> tuple[Path, Path]:
    """exams.csv and findings.csv, where they change; their paths. Raises MissingError."""
    bring_up_to_date(folder / FINDINGS_NAME, findings_csv(exams))
    bring_up_to_date(folder / EXAMS_NAME, exams_csv(exams, flags))
    return folder / EXAMS_NAME, folder / FINDINGS_NAME


def exams_csv(exams: tuple[Exam, ...], flags: Mapping[int, tuple[Flag, ...]]) -> bytes:
    """The content of exams.csv; of an exam that is as it was nothing is made anew."""
    rows = [_exam(exam, flags.get(exam.number, ())) for exam in exams]
    return table(EXAMS_HEADER, ()) + b"".join(rows)


def findings_csv(exams: tuple[Exam, ...]) -> bytes:
    """The content of findings.csv; of an exam that is as it was nothing is made anew."""
    return table(FINDINGS_HEADER, ()) + b"".join(_findings(exam, None) for exam in exams)


@by_exam
def _exam(exam: Exam, flags: tuple[Flag, ...]) -> bytes:
    return table_rows([exam_row(exam, flags)])


@by_exam
def _findings(exam: Exam, _: None) -> bytes:
    return table_rows(finding_rows((exam,)))
