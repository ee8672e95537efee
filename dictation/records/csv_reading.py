"""The CSV files back to exams: all of a visit, or every mistake by file and line.

What CSV does not carry is not invented: the herd list must be given again for what it knew, and
findings are numbered from 1 in each exam. Dates that follow from ages are reckoned, not read.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from math import isfinite
from pathlib import Path

from dictation.errors import BadInputError
from dictation.records.exam_rows import EXAMS_HEADER
from dictation.records.findings_rows import FINDINGS_HEADER, CellError, read_finding
from dictation.records.herd.sheet import Mistakes, Row, rows_of
from dictation.records.questions_file import QUESTIONS_NAME, read_questions
from dictation.records.visit_files import EXAMS_NAME, FINDINGS_NAME
from dictation.visit.inputs import Asked
from grammar.exam import Exam, FindingState, KnownAnimal, RecordedFinding


@dataclass(frozen=True, slots=True)
class ReadVisit:
    """A visit out of CSV. ``on_date`` is None where no exam says on which day it was.

    ``asked``: by exam, its open questions with their answers, where questions.csv tells them.
    """

    exams: tuple[Exam, ...]
    on_date: date | None
    asked: Mapping[int, tuple[Asked, ...]] = field(default_factory=dict)


def read_csv_visit(
    folder: Path, on_date: date | None = None, herd: tuple[KnownAnimal, ...] = ()
) -> ReadVisit:
    """The exams of a folder's two files. Raises BadInputError with every mistake in both."""
    exam_rows = rows_of(folder / EXAMS_NAME, EXAMS_HEADER)
    finding_rows = rows_of(folder / FINDINGS_NAME, FINDINGS_HEADER)
    day = on_date or _day_of(exam_rows)
    mistakes = Mistakes(folder / EXAMS_NAME)
    exams = _exams(exam_rows, day or date.min, herd, mistakes)
    mistakes.stop_if_any()
    mistakes = Mistakes(folder / FINDINGS_NAME)
    recorded = _recorded(finding_rows, exams, mistakes)
    mistakes.stop_if_any()
    filled = tuple(_filled(e, recorded.get(e.number, ()), exams) for e in exams)
    asked = _asked(folder, filled)
    told = tuple(
        replace(e, open_queries=tuple(a.question for a in asked[e.number])) if asked else e
        for e in filled
    )
    return ReadVisit(told, day, asked)


def _asked(folder: Path, exams: tuple[Exam, ...]) -> dict[int, tuple[Asked, ...]]:
    """What questions.csv tells; nothing where there is no such file."""
    if not (folder / QUESTIONS_NAME).is_file():
        return {}
    read = read_questions(folder, {exam.number: len(exam.recorded) for exam in exams})
    for exam in exams:
        # Whoever wrote one of the files anew without the other must hear of it.
        if "; ".join(a.question for a in read.get(exam.number, ())) != "; ".join(exam.open_queries):
            raise BadInputError(
                f"{folder / QUESTIONS_NAME}: exam {exam.number} has other questions there than in"
                f" {EXAMS_NAME}. Put them right in both, or take {QUESTIONS_NAME} away."
            )
    return {exam.number: read.get(exam.number, ()) for exam in exams}


def _day_of(rows: list[tuple[int, Row]]) -> date | None:
    """The day on which the exams began, where all say the same in the farm's own time."""
    days = set()
    for _, row in rows:
        try:
            moment = datetime.fromisoformat(row["started_at"])
        except ValueError:
            return None
        # A time in UTC may be of another day than the farm's.
        if moment.tzinfo is not None:
            return None
        days.add(moment.date())
    return days.pop() if len(days) == 1 else None


def _exams(
    rows: list[tuple[int, Row]], day: date, herd: tuple[KnownAnimal, ...], mistakes: Mistakes
) -> list[Exam]:
    exams: list[Exam] = []
    seen: dict[int, int] = {}
    for line, number, row in _numbered(rows, mistakes):
        if number in seen:
            mistakes.add(line, "exam", f"{number} is on line {seen[number]} too")
            continue
        seen[number] = line
        started = row["started_at"] or None
        if started is not None:
            wanted = "is no time like 2026-11-18T09:00:00"
            mistakes.made(line, "started_at", started, datetime.fromisoformat, wanted)
        tag = row["tag"] or None
        exams.append(
            Exam(
                number=number,
                on_date=day,
                tag=tag,
                known=_known(tag, row["electronic_id"], herd),
                closed=True,
                herd_list_given=bool(herd),
                started_at=started,
                open_queries=tuple(q for q in row["queries"].split("; ") if q),
            )
        )
    return exams


def _known(tag: str | None, electronic: str, herd: tuple[KnownAnimal, ...]) -> KnownAnimal | None:
    for known in herd:
        if tag is not None and known.tag == tag:
            return known
        if electronic and known.electronic_id == electronic:
            return known
    # The electronic number stands in the file, whether or not the list is at hand.
    return KnownAnimal(tag, electronic) if electronic and tag is not None else None


def _recorded(
    rows: list[tuple[int, Row]], exams: list[Exam], mistakes: Mistakes
) -> dict[int, tuple[RecordedFinding, ...]]:
    tags = {exam.number: exam.tag for exam in exams}
    found: dict[int, tuple[RecordedFinding, ...]] = {}
    for line, number, row in _numbered(rows, mistakes):
        if number not in tags:
            mistakes.add(line, "exam", f"{number} is not in {EXAMS_NAME}")
            continue
        if (row["tag"] or None) != tags[number]:
            mistakes.add(line, "tag", f"'{row['tag']}' is not the tag in {EXAMS_NAME}")
            continue
        mine = found.get(number, ())
        recorded = _one(line, row, len(mine) + 1, mistakes)
        if recorded is not None:
            found[number] = (*mine, recorded)
    return found


def _one(line: int, row: Row, number: int, mistakes: Mistakes) -> RecordedFinding | None:
    try:
        finding = read_finding(row)
    except CellError as error:
        mistakes.add(line, error.column, str(error))
        return None
    known = f"is none of {', '.join(FindingState)}"
    state = mistakes.made(line, "state", row["state"], FindingState, known)
    if state is None:
        return None
    return RecordedFinding(
        number=number,
        finding=finding,
        state=state,
        heard=row["heard"],
        at_s=_number(line, "at_s", row, mistakes),
        until_s=_number(line, "until_s", row, mistakes),
        confidence=_number(line, "confidence", row, mistakes) or 0.0,
    )


def _filled(exam: Exam, recorded: tuple[RecordedFinding, ...], exams: list[Exam]) -> Exam:
    same = tuple(e.number for e in exams if e.tag == exam.tag and e.number != exam.number)
    return replace(exam, recorded=recorded, tag_repeated_in=same if exam.tag is not None else ())


def _numbered(rows: list[tuple[int, Row]], mistakes: Mistakes) -> Iterator[tuple[int, int, Row]]:
    """The rows that have the number of an exam, with their lines."""
    for line, row in rows:
        number = mistakes.made(line, "exam", row["exam"], _positive, "is no number of an exam")
        if number is not None:
            yield line, number, row


def _positive(text: str) -> int:
    if not text.isascii() or not text.isdecimal() or not 0 < int(text) < 10**6:
        raise ValueError(text)
    return int(text)


def _number(line: int, column: str, row: Row, mistakes: Mistakes) -> float | None:
    wanted = "is no number with a decimal point"
    return mistakes.made(line, column, row[column], _finite, wanted) if row[column] else None


def _finite(text: str) -> float:
    number = float(text)
    if not isfinite(number):
        raise ValueError(text)
    return number
