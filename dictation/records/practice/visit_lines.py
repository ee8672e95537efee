"""The lines of one visit, kept beside its journal, so that many visits are summed up at once.

They are written whenever the visit's CSV files are, and by a summary that found none; they may be
deleted at any time. The first line of the file says which events and which reckoning they stand
for, and has a digest of all of it. Where any of it does not match the journal as it is now, the
file is passed over as if it were not there.
"""

from __future__ import annotations

import hashlib
import json
from contextlib import suppress
from dataclasses import asdict, dataclass, fields
from datetime import date
from pathlib import Path

from dictation.errors import HornsweepError
from dictation.records.by_exam import ByExam
from dictation.records.practice.exam_lines import ExamLine, exams_asked, line_of
from dictation.records.practice.reckoning import reckoning
from dictation.records.writing import bring_up_to_date
from dictation.visit.journal_state import JournalState
from dictation.visit.state import Visit

LINES_NAME = "exam_lines.jsonl"
COLUMNS = tuple(field.name for field in fields(ExamLine))


@dataclass(frozen=True, slots=True)
class VisitLines:
    """``body``: a JSON array of ``COLUMNS`` an exam, one a line. ``farm``: None where the visit
    names none."""

    farm: str | None
    exams: int
    body: bytes


def visit_lines(visit: Visit) -> VisitLines:
    """The lines of a visit."""
    lines = [_LINES.of(exam, asked) for exam, asked in exams_asked(visit)]
    return VisitLines(visit.farm, len(lines), b"".join(lines))


def keep_lines(folder: Path, visit: Visit) -> VisitLines:
    """Write the lines of a visit into its folder; where that fails, it is folded when needed."""
    lines = visit_lines(visit)
    with suppress(HornsweepError, OSError):
        last = visit.acts[visit.last_seq]
        state = JournalState(visit.acts[1].at, last.at, last.seq)
        bring_up_to_date(folder / LINES_NAME, _head(state, lines) + lines.body)
    return lines


def kept_lines(folder: Path, state: JournalState) -> VisitLines | None:
    """What was kept for a journal in this state; None where it is of another, or damaged."""
    try:
        head, body = (folder / LINES_NAME).read_bytes().split(b"\n", 1)
        told = json.loads(head)
        lines = VisitLines(told["farm"], told["exams"], body)
    except (OSError, ValueError, KeyError, TypeError):
        return None
    return lines if head + b"\n" == _head(state, lines) else None


def _head(state: JournalState, lines: VisitLines) -> bytes:
    told = {
        **asdict(state),
        "reckoning": reckoning(),
        "farm": lines.farm,
        "exams": lines.exams,
        "columns": COLUMNS,
    }
    digest = hashlib.sha256(json.dumps(told).encode() + b"\n" + lines.body).hexdigest()
    return json.dumps({**told, "digest": digest}).encode() + b"\n"


def written(line: ExamLine) -> bytes:
    """One line of ``VisitLines.body``."""
    values = (getattr(line, name) for name in COLUMNS)
    told = [value.isoformat() if isinstance(value, date) else value for value in values]
    return json.dumps(told).encode() + b"\n"


_LINES: ByExam[bool, bytes] = ByExam(lambda exam, asked: written(line_of(exam, asked)))
