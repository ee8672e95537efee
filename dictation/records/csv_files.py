"""exams.csv and findings.csv of a visit: always complete, each replaced in one step."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from dictation.records.by_exam import ByExam
from dictation.records.cells import table, table_rows
from dictation.records.exam_rows import EXAMS_HEADER, exam_row, exam_rows
from dictation.records.findings_rows import FINDINGS_HEADER, finding_rows
from dictation.records.writing import bring_up_to_date
from grammar.exam import Exam, Flag

EXAMS_NAME = "exams.csv"
FINDINGS_NAME = "findings.csv"


def exams_csv(exams: tuple[Exam, ...], flags: Mapping[int, tuple[Flag, ...]]) -> bytes:
    """The content of exams.csv."""
    return table(EXAMS_HEADER, exam_rows(exams, flags))


def findings_csv(exams: tuple[Exam, ...]) -> bytes:
    """The content of findings.csv."""
    return table(FINDINGS_HEADER, finding_rows(exams))


def write_csv(
    folder: Path, exams: tuple[Exam, ...], flags: Mapping[int, tuple[Flag, ...]]
) -> tuple[Path, Path]:
    """Write both files into a folder, where they change; their paths.

    Of an exam that is as it was when they were last written nothing is made anew. Raises
    MissingError where there is no room.
    """
    findings = folder / FINDINGS_NAME
    by_exam = folder / EXAMS_NAME
    rows = [_ROWS.of(exam, flags.get(exam.number, ())) for exam in exams]
    content = table(FINDINGS_HEADER, ()) + b"".join(found for _, found in rows)
    bring_up_to_date(findings, content)
    bring_up_to_date(by_exam, table(EXAMS_HEADER, ()) + b"".join(row for row, _ in rows))
    return by_exam, findings


def _rows(exam: Exam, flags: tuple[Flag, ...]) -> tuple[bytes, bytes]:
    """What stands of an exam in the one file and in the other."""
    return table_rows([exam_row(exam, flags)]), table_rows(finding_rows((exam,)))


_ROWS = ByExam(_rows)
