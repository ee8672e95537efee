"""exams.csv and findings.csv of a visit: always complete, each replaced in one step."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from dictation.records.cells import table
from dictation.records.exam_rows import EXAMS_HEADER, exam_rows
from dictation.records.findings_rows import FINDINGS_HEADER, finding_rows
from dictation.records.writing import replace_file
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
    """Write both files into a folder; their paths. Raises MissingError where there is no room."""
    findings = folder / FINDINGS_NAME
    by_exam = folder / EXAMS_NAME
    replace_file(findings, findings_csv(exams))
    replace_file(by_exam, exams_csv(exams, flags))
    return by_exam, findings
