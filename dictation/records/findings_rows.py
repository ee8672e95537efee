"""A row of findings.csv for every finding of a visit, the withdrawn ones among them, and back.

What has no column of its own stands in ``detail``, a pair key=value for each field of which
something was said: 'structure=corpus_luteum; cavity_mm=6; unit_assumed=true'. Until November 2026
it was words: 'corpus_luteum; count 2; by 9 mm; unit assumed'. Those are only read, so that files
that were exported then can still be imported.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date
from enum import StrEnum
from typing import cast

from dictation.records.cells import Cell, cell
from dictation.records.herd.sheet import Row
from grammar.exam import Exam, RecordedFinding
from grammar.fields import DETAIL, FIELDS, Field, Value, known, main_field, usual
from grammar.findings import FINDING_NAMES, Animal, Conceptus, Finding, Note, Plan, Seen

FINDING_COLUMNS = ("finding", "side", "detail", "value", "unit", "fetus")
_BEFORE, _BEHIND = ("exam", "tag", "at_s", "until_s"), ("heard", "confidence", "state")
FINDINGS_HEADER = (*_BEFORE, *FINDING_COLUMNS, *_BEHIND)


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
    inside = [(row.key, said[row.name]) for row in rows if row.column == DETAIL]
    # Behind its key no spreadsheet takes text for a formula.
    pairs = [f"{key}={value if isinstance(value, str) else cell(value)}" for key, value in inside]
    unit = next((row.unit for row in rows if row.column == "value"), None)
    detail = "; ".join(pairs)
    name, side, value = FINDING_NAMES[kind], columns.get("side"), columns.get("value")
    return name, side, detail, value, unit, columns.get("fetus")


def _seconds(seconds: float | None) -> float | None:
    return None if seconds is None else round(seconds, 2)


class CellError(ValueError):
    """A cell that no finding is written as. ``column``: which one."""

    def __init__(self, column: str, what: str) -> None:
        super().__init__(what)
        self.column = column


def read_finding(row: Row) -> Finding:
    """The finding of a row, from its cells 'finding' to 'fetus'. Raises CellError."""
    name = row["finding"]
    kind = next((kind for kind, word in FINDING_NAMES.items() if word == name), None)
    if kind is None:
        raise CellError("finding", f"'{name}' is no finding")
    detail, unit = row["detail"], row["unit"]
    if _is_old(kind, detail, unit):
        detail, unit = _renewed(kind, detail, unit)
    by_key = {field.key: field for field in FIELDS[kind] if field.column == DETAIL}
    values = dict(usual(kind))
    for field, text in (*_pairs(by_key, detail), *_columns(kind, row, unit)):
        values[field.name] = _value(field, text)
    for field in FIELDS[kind]:
        if field.name not in values:
            what = f"{field.key}= is missing" if field.column == DETAIL else "is empty"
            raise CellError(field.column, what)
    return cast("Finding", kind(**values))


def _pairs(by_key: dict[str, Field], detail: str) -> list[tuple[Field, str]]:
    found: dict[str, str] = {}
    while detail:
        key, equals, detail = detail.partition("=")
        if not equals or key not in by_key or key in found:
            raise CellError("detail", f"'{key}' cannot be read; known: {', '.join(by_key)}")
        # The words of a note may hold anything: what is alone in its cell takes all of it.
        found[key], _, detail = detail.partition("; ") if len(by_key) > 1 else (detail, "", "")
    return [(by_key[key], text) for key, text in found.items()]


def _columns(kind: type, row: Row, unit: str) -> list[tuple[Field, str]]:
    """The cells that have a column of their own."""
    by_column = {field.column: field for field in FIELDS[kind]}
    found = []
    for column in ("side", "value", "fetus"):
        field, text = by_column.get(column), row[column]
        if text and field is None:
            raise CellError(column, f"{FINDING_NAMES[kind]} has none, and here is '{text}'")
        if text and field is not None:
            found.append((field, text))
            if column == "value" and unit != field.unit:
                raise CellError("unit", f"'{unit}' is not {field.unit}")
    return found


def _value(field: Field, text: str) -> Value:
    if field.holds in (int, float):
        return whole(text, field.column) if field.holds is int else number(text, field.column)
    make: Callable[[str], Value] = field.holds
    wanted = "cannot be read"
    if issubclass(field.holds, StrEnum):
        wanted = f"is none of {', '.join(field.holds)}"
    elif field.holds is bool:
        make, wanted = {"true": True, "false": False}.__getitem__, "is neither true nor false"
    elif field.holds is date:
        make, wanted = date.fromisoformat, "is no date like 2026-11-18"
    try:
        return make(text)
    except (KeyError, ValueError) as error:
        raise CellError(field.column, f"'{text}' {wanted}") from error


def number(text: str, column: str) -> float:
    """A number with a decimal point. Raises CellError."""
    try:
        read = float(text)
    except ValueError as error:
        raise CellError(column, f"'{text}' is no number with a decimal point") from error
    if not -1e6 < read < 1e6:
        raise CellError(column, f"'{text}' is out of range")
    return read


def whole(text: str, column: str) -> int:
    """A whole number. Raises CellError."""
    read = number(text, column)
    if read != int(read):
        raise CellError(column, f"'{text}' is no whole number")
    return int(read)


_PARTS = (
    ("tag (.+)", r"tag=\1"),
    ("electronic (.+)", r"electronic_id=\1"),
    ("on the list", "listed=true"),
    ("not listed", "listed=false"),
    ("count (.+)", r"count=\1"),
    ("by (.+) mm", r"second_size_mm=\1"),
    ("cavity (.+) mm", r"cavity=true; cavity_mm=\1"),
    ("wall (.+) mm", r"wall_mm=\1"),
    ("(.+) wall", r"wall=\1"),
    ("unit assumed", "unit_assumed=true"),
    ("to (.+) days", r"age_to_days=\1"),
    ("about", "approximate=true"),
    ("said in (.+)", r"stated_as=\1"),
    ("status assumed", "status_assumed=true"),
    ("no (cavity|heartbeat|movement|loss)", r"\1=false"),
    ("(cavity|heartbeat|movement|loss)", r"\1=true"),
    ("membranes (.+)", r"membranes=\1"),
    ("not seen", "seen=false"),
    ("on (.+)", r"on_date=\1"),
)
"""A part of the old words, and the pairs of today that say the same."""

_BARE = {Animal: "animal_class", Conceptus: "arrangement", Seen: "remark", Plan: "class"}
"""What a part was that is a word alone, and not the first."""


def _is_old(kind: type, detail: str, unit: str) -> bool:
    """Whether a row is of the old form. The words of an old note may hold an equals sign."""
    first, _, _ = detail.partition("; ")
    words = "=" not in first if kind is not Note else not detail.startswith("text=")
    return unit.startswith("of ") or (bool(detail) and words)


def _renewed(kind: type, detail: str, unit: str) -> tuple[str, str]:
    """Detail and unit of an old row as they are written today."""
    if unit.startswith("of "):
        return f"scale={unit.removeprefix('of ')}", "score"
    if kind is Note:
        return f"text={detail}", unit
    parts = detail.split("; ")
    main = main_field(kind)
    head = [f"{main}={parts.pop(0)}"] if main is not None else []
    return "; ".join((*head, *(_part_renewed(kind, part) for part in parts))), unit


def _part_renewed(kind: type, part: str) -> str:
    for words, pairs in _PARTS:
        found = re.fullmatch(words, part)
        if found is not None:
            return found.expand(pairs)
    return f"{_BARE[kind]}={part}" if kind in _BARE else part
