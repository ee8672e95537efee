"""A row of exams.csv for every exam of a visit."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date, timedelta
from typing import TypeVar

from dictation.records.cells import Cell
from grammar.checks.sweep import not_seen_structures
from grammar.exam import Exam, Flag, Severity
from grammar.findings import (
    Animal,
    Conceptus,
    FetalSex,
    Note,
    Ovary,
    Plan,
    PlanAction,
    Pregnancy,
    PregnancyStatus,
    Seen,
    Side,
    SweepStructure,
    Uterus,
)
from grammar.summary import summarise_age
from grammar.wording import spaced, written, written_without_side

EXAMS_HEADER = (
    "exam",
    "tag",
    "electronic_id",
    "started_at",
    "status",
    "age_days",
    "age_from",
    "age_error_days",
    "service_date",
    "due_date",
    "fetuses",
    "fetal_sex",
    "left_ovary",
    "right_ovary",
    "uterus",
    "plan",
    "recheck_date",
    "not_seen",
    "queries",
    "flags",
    "notes",
)

_OVARY_STATION = {Side.LEFT: SweepStructure.LEFT_OVARY, Side.RIGHT: SweepStructure.RIGHT_OVARY}
Value = TypeVar("Value")

_OVARIES = frozenset(_OVARY_STATION.values())


def exam_rows(
    exams: tuple[Exam, ...], flags: Mapping[int, tuple[Flag, ...]]
) -> list[tuple[Cell, ...]]:
    """Rows in the order of the exams; text of several findings is joined with '; '."""
    return [exam_row(exam, flags.get(exam.number, ())) for exam in exams]


def exam_row(exam: Exam, flags: tuple[Flag, ...]) -> tuple[Cell, ...]:
    """One exam. What was not said, and what was said two ways, is empty.

    An approved exam keeps the figures and flags that it was approved with.
    """
    if exam.approved is not None:
        flags = exam.approved.flags
    age = summarise_age(exam)
    return (
        exam.number,
        exam.tag,
        electronic_id(exam),
        exam.started_at,
        status_of(exam),
        age.age_days,
        age.age_from,
        age.age_error_days,
        age.service_date,
        age.due_date,
        _one([f.count for f in exam.findings if isinstance(f, Conceptus)]),
        _joined(_sexes(exam)),
        _joined(_ovary(exam, Side.LEFT)),
        _joined(_ovary(exam, Side.RIGHT)),
        _joined(_uterus(exam)),
        _joined(written(f) for f in exam.findings if isinstance(f, Plan)),
        recheck_date(exam),
        _joined(spaced(station) for station in not_seen_structures(exam)),
        _joined(exam.open_queries),
        _joined(_flag(flag) for flag in flags if flag.severity is not Severity.NOTE),
        _joined(f.text for f in exam.findings if isinstance(f, Note)),
    )


def status_of(exam: Exam) -> PregnancyStatus | None:
    """Pregnant, open or uncertain; None where nothing or more than one of them was said."""
    return _one([f.status for f in exam.findings if isinstance(f, Pregnancy)])


def electronic_id(exam: Exam) -> str | None:
    """The electronic number as listed, else as said."""
    if exam.known is not None and exam.known.electronic_id:
        return exam.known.electronic_id
    said = [f.electronic_id for f in exam.findings if isinstance(f, Animal) and f.electronic_id]
    return said[-1] if said else None


def recheck_date(exam: Exam) -> date | None:
    """The earliest day on which she is to be looked at again."""
    days = []
    for finding in exam.findings:
        if not isinstance(finding, Plan) or finding.action is not PlanAction.RECHECK:
            continue
        if finding.on_date is not None:
            days.append(finding.on_date)
        elif finding.in_days is not None:
            days.append(exam.on_date + timedelta(days=finding.in_days))
    return min(days, default=None)


def _one(values: list[Value]) -> Value | None:
    return values[0] if len(set(values)) == 1 else None


def _joined(parts: Iterable[str]) -> str | None:
    return "; ".join(parts) or None


def _flag(flag: Flag) -> str:
    return f"{flag.severity}: {flag.rule}"


def _sexes(exam: Exam) -> list[str]:
    said = [f for f in exam.findings if isinstance(f, FetalSex)]
    return [f"{f.sex} (fetus {f.fetus})" if f.fetus else str(f.sex) for f in said]


def _ovary(exam: Exam, side: Side) -> list[str]:
    found: list[str] = []
    for finding in exam.findings:
        if isinstance(finding, Ovary) and finding.side in (side, Side.BOTH):
            found.append(written_without_side(finding))
        if isinstance(finding, Seen) and finding.structure is _OVARY_STATION[side]:
            found.append(spaced(finding.remark or "seen"))
    return found


def _uterus(exam: Exam) -> list[str]:
    found: list[str] = []
    for finding in exam.findings:
        if isinstance(finding, Uterus):
            found.append(written(finding))
        if isinstance(finding, Seen) and finding.structure not in _OVARIES:
            found.append(f"{spaced(finding.structure)} {spaced(finding.remark or 'seen')}")
    return found
