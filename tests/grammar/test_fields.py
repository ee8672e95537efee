"""One row a field: what a correction can replace, what tells findings apart, and a new field."""

from __future__ import annotations

import csv
import dataclasses
from dataclasses import dataclass
from datetime import date
from typing import get_args, get_type_hints

import pytest
from hypothesis import given

from dictation.records.cells import plain_text, table
from dictation.records.findings_rows import FINDINGS_HEADER, finding_rows, read_finding
from grammar.exam import Exam, FindingState, RecordedFinding
from grammar.fields import (
    FIELDS,
    MM,
    Field,
    identity_of,
    known,
    main_of,
    numbers_of,
    on_side,
    range_of,
    usual,
    with_value,
)
from grammar.findings import (
    FINDING_NAMES,
    Conceptus,
    Condition,
    FetalSex,
    Finding,
    History,
    Landmark,
    LandmarkName,
    Measurement,
    Note,
    OvarianStructure,
    Ovary,
    PastEvent,
    Plan,
    PlanAction,
    Pregnancy,
    PregnancyStatus,
    Quantity,
    Seen,
    Sex,
    Side,
    SweepStructure,
    UterineState,
    Uterus,
    Viability,
    finding_record,
)
from grammar.plausible import Range
from grammar.say import say
from grammar.wording import written
from tests.grammar.strategies import findings

CL = OvarianStructure.CORPUS_LUTEUM
OVARY = Ovary(Side.LEFT, CL, 22.0, 18.0, True, 6.0, wall_mm=3.0, count=2)
FULL: tuple[tuple[Finding, dict[str, float]], ...] = (
    (OVARY, {"size_mm": 22, "second_size_mm": 18, "cavity_mm": 6, "wall_mm": 3}),
    (Uterus(None, UterineState.FLUID, 12.0), {"depth_mm": 12}),
    (Pregnancy(PregnancyStatus.PREGNANT, 40, 45), {"age_days": 40, "age_to_days": 45}),
    (Conceptus(2), {"count": 2}),
    (Measurement(Quantity.EYE_DIAMETER, 9.0, fetus=1), {"size_mm": 9}),
    (Condition(3.5, 5), {"score": 3.5}),
    (Plan(PlanAction.RECHECK, 14), {"in_days": 14}),
    (History(PastEvent.SERVED, 60), {"days_ago": 60}),
    (Landmark(LandmarkName.AMNION, fetus=2), {}),
    (Note("22 of them"), {}),
)


def test_every_field_of_every_finding_has_its_row() -> None:
    assert set(FIELDS) == set(FINDING_NAMES)
    for kind, rows in FIELDS.items():
        assert {row.name for row in rows} == {f.name for f in dataclasses.fields(kind)}
        assert len(rows) == len({row.key for row in rows})
        for row in rows:
            hint = get_type_hints(kind)[row.name]
            assert row.holds in (get_args(hint) or (hint,)), f"{kind.__name__}.{row.name}"


@pytest.mark.parametrize(("finding", "numbers"), FULL)
def test_the_numbers_that_a_correction_can_replace(
    finding: Finding, numbers: dict[str, float]
) -> None:
    assert {field.name: number for field, number in numbers_of(finding)} == numbers
    for name in numbers:
        changed = with_value(finding, name, 7)
        assert changed is not None
        assert {f.name: n for f, n in numbers_of(changed)} == {**numbers, name: 7}
        assert type(getattr(changed, name)) is type(getattr(finding, name))


def test_a_number_that_was_not_said_cannot_be_replaced() -> None:
    assert numbers_of(Ovary(Side.LEFT, CL, count=2)) == ()


def test_where_only_a_whole_number_fits_no_other_is_taken() -> None:
    assert with_value(Conceptus(2), "count", 2.5) is None
    assert with_value(Condition(3.0), "score", 2.5) == Condition(2.5)


@pytest.mark.parametrize(
    ("finding", "side", "moved"),
    [
        (OVARY, Side.RIGHT, dataclasses.replace(OVARY, side=Side.RIGHT)),
        (Ovary(None, CL), Side.RIGHT, None),
        (
            Uterus(Side.LEFT, UterineState.CLEAR),
            Side.BODY,
            Uterus(Side.BODY, UterineState.CLEAR),
        ),
        (Pregnancy(PregnancyStatus.OPEN), Side.LEFT, None),
        (Seen(SweepStructure.LEFT_HORN), Side.RIGHT, Seen(SweepStructure.RIGHT_HORN)),
        (Seen(SweepStructure.RIGHT_OVARY), Side.LEFT, Seen(SweepStructure.LEFT_OVARY)),
        (Seen(SweepStructure.LEFT_HORN), Side.BODY, None),
        (Seen(SweepStructure.CERVIX), Side.LEFT, None),
        (Seen(SweepStructure.BODY), Side.RIGHT, None),
        (Note("left"), Side.RIGHT, None),
    ],
)
def test_a_finding_on_the_other_side(finding: Finding, side: Side, moved: Finding | None) -> None:
    assert on_side(finding, side) == moved


@pytest.mark.parametrize(
    ("one", "other", "same"),
    [
        (OVARY, Ovary(Side.LEFT, OvarianStructure.FOLLICLE), True),
        (OVARY, Ovary(Side.RIGHT, CL, 22.0), False),
        (Pregnancy(PregnancyStatus.OPEN), Pregnancy(PregnancyStatus.PREGNANT, 40), True),
        (FetalSex(Sex.MALE, 1), FetalSex(Sex.FEMALE, 1), True),
        (FetalSex(Sex.MALE, 1), FetalSex(Sex.MALE, 2), False),
        (Viability(heartbeat=True), Viability(loss=True), True),
        (Measurement(Quantity.EYE_DIAMETER, 9), Measurement(Quantity.EYE_DIAMETER, 11), True),
        (Measurement(Quantity.EYE_DIAMETER, 9), Measurement(Quantity.FEMUR_LENGTH, 9), False),
        (Plan(PlanAction.RECHECK, 14), Plan(PlanAction.RECHECK, 21), True),
        (Plan(PlanAction.RECHECK, 14), Plan(PlanAction.CULL), False),
        (Landmark(LandmarkName.AMNION), Landmark(LandmarkName.AMNION, seen=False), True),
        (Seen(SweepStructure.BODY), Uterus(None, UterineState.CLEAR), False),
        (Conceptus(1), Conceptus(2), True),
    ],
)
def test_what_can_stand_for_an_earlier_finding(one: Finding, other: Finding, same: bool) -> None:
    assert (identity_of(one) == identity_of(other)) is same


def test_the_word_that_says_what_a_finding_is() -> None:
    assert main_of(OVARY) is CL
    assert main_of(Measurement(Quantity.EYE_DIAMETER, 9)) is Quantity.EYE_DIAMETER
    assert main_of(Viability(heartbeat=True)) is None


def test_plausible_values_come_with_who_says_so() -> None:
    ranges = {f.name: range_of(OVARY, f) for f, _ in numbers_of(OVARY)}
    size = ranges["size_mm"]
    assert size is not None
    assert (size.low, size.high) == (8, 40)
    assert "Ginther" in size.source
    assert ranges["wall_mm"] is None
    assert all(
        limits is None or limits.source
        for finding, _ in FULL
        for limits in (range_of(finding, field) for field, _ in numbers_of(finding))
    )


@given(findings)
def test_what_is_known_of_a_finding_is_all_of_it(finding: Finding) -> None:
    kind: type = type(finding)
    assert kind(**{**usual(kind), **known(finding)}) == finding


@dataclass(frozen=True, slots=True)
class Walled(Uterus):
    """A uterus of which the wall was measured, which the grammar cannot say yet."""

    wall_mm: float | None = None
    first_seen: date | None = None
    torn: bool = False


ROWS = (
    Field("wall_mm", float, "wall {}", unit=MM, limits=Range(2, 30, "common practice, no source")),
    Field("first_seen", date, "since {}"),
    Field("torn", bool, {True: "torn"}),
)


@pytest.fixture
def _with_a_new_field(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(FIELDS, Walled, (*FIELDS[Uterus], *ROWS))
    monkeypatch.setitem(FINDING_NAMES, Walled, "walled")


@pytest.mark.usefixtures("_with_a_new_field")
def test_a_new_field_is_one_row_of_the_table() -> None:
    finding = Walled(Side.LEFT, UterineState.FLUID, 12.0, False, 8.5, date(2026, 11, 2), True)
    assert written(finding) == "left horn fluid 12 mm wall 8.5 mm since 2026-11-02 torn"
    assert say(finding) == (
        "left horn fluid twelve millimetres wall eight point five millimetres"
        " since the second of november torn"
    )
    record = finding_record(finding)
    assert (record["wall_mm"], record["first_seen"]) == (8.5, "2026-11-02")
    assert out_and_in(finding) == finding
    assert out_and_in(Walled(None, UterineState.CLEAR)) == Walled(None, UterineState.CLEAR)
    assert [field.name for field, _ in numbers_of(finding)] == ["depth_mm", "wall_mm"]
    thinner = with_value(finding, "wall_mm", 4)
    assert thinner == dataclasses.replace(finding, wall_mm=4.0)
    assert identity_of(thinner) == identity_of(finding)
    assert on_side(finding, Side.RIGHT) == dataclasses.replace(finding, side=Side.RIGHT)
    limits = range_of(finding, ROWS[0])
    assert limits is not None
    assert not limits.holds(40)


def out_and_in(finding: Finding) -> Finding:
    """The finding out of the cells that it was written in."""
    recorded = RecordedFinding(1, finding, FindingState.ACCEPTED, "heard")
    (row,) = finding_rows((Exam(1, date(2026, 11, 18), recorded=(recorded,)),))
    (_, line) = csv.reader(table(FINDINGS_HEADER, [row]).decode().splitlines())
    return read_finding(dict(zip(FINDINGS_HEADER, map(plain_text, line), strict=True)))
