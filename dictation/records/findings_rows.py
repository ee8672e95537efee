"""A row of findings.csv for every finding of a visit, the withdrawn ones among them."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from dictation.records.cells import Cell
from grammar.exam import Exam, RecordedFinding
from grammar.findings import (
    FINDING_NAMES,
    Animal,
    Conceptus,
    Condition,
    FetalSex,
    Finding,
    History,
    Landmark,
    Measurement,
    Note,
    Ovary,
    Plan,
    Pregnancy,
    Seen,
    Uterus,
    Viability,
)

FINDINGS_HEADER = (
    "exam",
    "tag",
    "at_s",
    "until_s",
    "finding",
    "side",
    "detail",
    "value",
    "unit",
    "fetus",
    "heard",
    "confidence",
    "state",
)

Parts = tuple[str, Cell, str | None]
"""What a finding says beside its side: detail, value, unit of the value."""


def finding_rows(exams: tuple[Exam, ...]) -> list[tuple[Cell, ...]]:
    """Rows in the order of the exams and of speech."""
    return [_row(exam, recorded) for exam in exams for recorded in exam.recorded]


def _row(exam: Exam, recorded: RecordedFinding) -> tuple[Cell, ...]:
    return (
        exam.number,
        exam.tag,
        _seconds(recorded.at_s),
        _seconds(recorded.until_s),
        *finding_cells(recorded.finding),
        recorded.heard,
        round(recorded.confidence, 3),
        recorded.state,
    )


def finding_cells(finding: Finding) -> tuple[Cell, ...]:
    """The columns that say what was found, from ``finding`` to ``fetus``."""
    detail, value, unit = _PARTS[type(finding)](finding)
    name, side = FINDING_NAMES[type(finding)], getattr(finding, "side", None)
    return name, side, detail, value, unit, getattr(finding, "fetus", None)


def _seconds(seconds: float | None) -> float | None:
    return None if seconds is None else round(seconds, 2)


def _words(*parts: str | None) -> str:
    return "; ".join(part for part in parts if part)


def _mm(name: str, value: float | None) -> str | None:
    return None if value is None else f"{name} {value:g} mm"


def _animal(finding: Animal) -> Parts:
    listed = None if finding.listed is None else ("on the list" if finding.listed else "not listed")
    electronic = None if finding.electronic_id is None else f"electronic {finding.electronic_id}"
    # A tag is text: a spreadsheet must not drop its zeros, so it is not the value.
    tag = None if finding.tag is None else f"tag {finding.tag}"
    return _words(tag, finding.animal_class, electronic, listed), None, None


def _ovary(finding: Ovary) -> Parts:
    cavity = None if finding.cavity is None else ("cavity" if finding.cavity else "no cavity")
    detail = _words(
        str(finding.structure),
        None if finding.count is None else f"count {finding.count}",
        None if finding.second_size_mm is None else f"by {finding.second_size_mm:g} mm",
        _mm("cavity", finding.cavity_mm) or cavity,
        _mm("wall", finding.wall_mm) or (None if finding.wall is None else f"{finding.wall} wall"),
        "unit assumed" if finding.unit_assumed else None,
    )
    return detail, finding.size_mm, None if finding.size_mm is None else "mm"


def _uterus(finding: Uterus) -> Parts:
    detail = _words(str(finding.state), "unit assumed" if finding.unit_assumed else None)
    return detail, finding.depth_mm, None if finding.depth_mm is None else "mm"


def _pregnancy(finding: Pregnancy) -> Parts:
    detail = _words(
        str(finding.status),
        None if finding.age_to_days is None else f"to {finding.age_to_days} days",
        "about" if finding.approximate else None,
        None if finding.stated_as is None else f"said in {finding.stated_as}",
        "status assumed" if finding.status_assumed else None,
    )
    return detail, finding.age_days, None if finding.age_days is None else "days"


def _conceptus(finding: Conceptus) -> Parts:
    return _words(finding.arrangement), finding.count, "fetuses"


def _viability(finding: Viability) -> Parts:
    signs = {
        "heartbeat": finding.heartbeat,
        "movement": finding.movement,
        "loss": finding.loss,
    }
    said = [name if seen else f"no {name}" for name, seen in signs.items() if seen is not None]
    membranes = None if finding.membranes is None else f"membranes {finding.membranes}"
    return _words(*said, membranes), None, None


def _landmark(finding: Landmark) -> Parts:
    return _words(str(finding.name), None if finding.seen else "not seen"), None, None


def _measurement(finding: Measurement) -> Parts:
    detail = _words(str(finding.quantity), "unit assumed" if finding.unit_assumed else None)
    return detail, finding.size_mm, "mm"


def _sex(finding: FetalSex) -> Parts:
    return str(finding.sex), None, None


def _seen(finding: Seen) -> Parts:
    return _words(str(finding.structure), finding.remark), None, None


def _condition(finding: Condition) -> Parts:
    unit = "score" if finding.scale is None else f"of {finding.scale}"
    return "", finding.score, unit


def _plan(finding: Plan) -> Parts:
    on = None if finding.on_date is None else f"on {finding.on_date.isoformat()}"
    detail = _words(str(finding.action), finding.treatment_class, on)
    return detail, finding.in_days, None if finding.in_days is None else "days"


def _history(finding: History) -> Parts:
    on = None if finding.on_date is None else f"on {finding.on_date.isoformat()}"
    unit = None if finding.days_ago is None else "days ago"
    return _words(str(finding.event), on), finding.days_ago, unit


def _note(finding: Note) -> Parts:
    return finding.text, None, None


_PARTS: dict[type[Finding], Callable[[Any], Parts]] = {
    Animal: _animal,
    Ovary: _ovary,
    Uterus: _uterus,
    Pregnancy: _pregnancy,
    Conceptus: _conceptus,
    Viability: _viability,
    Landmark: _landmark,
    Measurement: _measurement,
    FetalSex: _sex,
    Seen: _seen,
    Condition: _condition,
    Plan: _plan,
    History: _history,
    Note: _note,
}
