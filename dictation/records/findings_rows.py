"""A row of findings.csv for every finding of a visit, the withdrawn ones among them.

What has no column of its own stands in ``detail``, a pair key=value for each field of which
something was said: 'structure=corpus_luteum; cavity_mm=6; unit_assumed=true'.
"""

from __future__ import annotations

from dictation.records.cells import Cell, cell
from grammar.exam import Exam, RecordedFinding
from grammar.fields import DETAIL, FIELDS, known
from grammar.findings import FINDING_NAMES, Finding

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
    said, kind = known(finding), type(finding)
    rows = [row for row in FIELDS[kind] if row.name in said]
    columns: dict[str, Cell] = {row.column: said[row.name] for row in rows}
    pairs = [f"{row.key}={_text(said[row.name])}" for row in rows if row.column == DETAIL]
    unit = next((row.unit for row in rows if row.column == "value"), None)
    detail = "; ".join(pairs)
    name, side, value = FINDING_NAMES[kind], columns.get("side"), columns.get("value")
    return name, side, detail, value, unit, columns.get("fetus")


def _text(value: Cell) -> str:
    # Behind its key no spreadsheet takes text for a formula.
    return value if isinstance(value, str) else cell(value)


def _seconds(seconds: float | None) -> float | None:
    return None if seconds is None else round(seconds, 2)
