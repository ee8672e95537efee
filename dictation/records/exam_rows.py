"""A row of exams.csv for every exam of a visit."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import date
from typing import NamedTuple, TypeVar

from dictation.records.cells import Cell
from grammar.checks.plan import plan_date
from grammar.checks.sweep import not_seen_structures
from grammar.exam import Exam, Flag, Severity
from grammar.figures import AgeSummary
from grammar.findings import (
    Animal,
    Conceptus,
    FetalSex,
    Lie,
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

_OVARY_STATION = {Side.LEFT: SweepStructure.LEFT_OVARY, Side.RIGHT: SweepStructure.RIGHT_OVARY}
_OVARIES = frozenset(_OVARY_STATION.values())
Value = TypeVar("Value")
Found = TypeVar("Found")
Beside = TypeVar("Beside")
Made = TypeVar("Made")


class _Of(NamedTuple):
    """What a row is made of."""

    exam: Exam
    age: AgeSummary
    flags: tuple[Flag, ...]

    def every(self, kind: type[Found]) -> list[Found]:
        return [finding for finding in self.exam.findings if isinstance(finding, kind)]


_COLUMNS: dict[str, Callable[[_Of], Cell]] = {
    "exam": lambda of: of.exam.number,
    "tag": lambda of: of.exam.tag,
    "electronic_id": lambda of: electronic_id(of.exam),
    "started_at": lambda of: of.exam.started_at,
    "status": lambda of: status_of(of.exam),
    "age_days": lambda of: of.age.age_days,
    "age_from": lambda of: of.age.age_from,
    "age_error_days": lambda of: of.age.age_error_days,
    "service_date": lambda of: of.age.service_date,
    "due_date": lambda of: of.age.due_date,
    "fetuses": lambda of: _one([f.count for f in of.every(Conceptus)]),
    "fetal_sex": lambda of: _joined(
        f"{f.sex} (fetus {f.fetus})" if f.fetus else str(f.sex) for f in of.every(FetalSex)
    ),
    "left_ovary": lambda of: _joined(_ovary(of.exam, Side.LEFT)),
    "right_ovary": lambda of: _joined(_ovary(of.exam, Side.RIGHT)),
    "uterus": lambda of: _joined(_uterus(of.exam)),
    "plan": lambda of: _joined(map(written, of.every(Plan))),
    "recheck_date": lambda of: recheck_date(of.exam),
    "not_seen": lambda of: _joined(map(spaced, not_seen_structures(of.exam))),
    "queries": lambda of: _joined(of.exam.open_queries),
    "flags": lambda of: _joined(
        f"{flag.severity}: {flag.rule}" for flag in of.flags if flag.severity is not Severity.NOTE
    ),
    "notes": lambda of: _joined(f.text for f in of.every(Note)),
}
"""What stands in each column. What was not said, and what was said two ways, is empty; text of
several findings is joined with '; '."""

EXAMS_HEADER = tuple(_COLUMNS)


def exam_row(exam: Exam, flags: tuple[Flag, ...]) -> tuple[Cell, ...]:
    """One exam. An approved one keeps the figures and flags that it was approved with."""
    flags = flags if exam.approved is None else exam.approved.flags
    of = _Of(exam, summarise_age(exam), flags)
    return tuple(made(of) for made in _COLUMNS.values())


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
    plans = (f for f in exam.findings if isinstance(f, Plan) and f.action is PlanAction.RECHECK)
    days = (plan_date(each, exam.on_date) for each in plans)
    return min((day for day in days if day is not None), default=None)


def _one(values: list[Value]) -> Value | None:
    return values[0] if len(set(values)) == 1 else None


def _joined(parts: Iterable[str]) -> str | None:
    return "; ".join(parts) or None


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
        if isinstance(finding, Uterus | Lie):
            found.append(written(finding))
        if isinstance(finding, Seen) and finding.structure not in _OVARIES:
            found.append(f"{spaced(finding.structure)} {spaced(finding.remark or 'seen')}")
    return found


def by_exam(make: Callable[[Exam, Beside], Made]) -> Callable[[Exam, Beside], Made]:
    """What ``make`` makes of an exam and what comes beside it; anew only for other ones.

    An exam is frozen, and a visit hands the same object on for as long as nothing of it changes.
    """
    kept: dict[int, tuple[Exam, Beside, Made]] = {}

    def made(exam: Exam, beside: Beside) -> Made:
        was = kept.get(exam.number)
        # Equal exams are not looked for: comparing all findings takes as long as making it anew.
        if was is None or was[0] is not exam or was[1] != beside:
            was = kept[exam.number] = (exam, beside, make(exam, beside))
        return was[2]

    return made
