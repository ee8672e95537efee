"""Rows of findings.csv as they were until November 2026 are still read."""

from __future__ import annotations

from datetime import date

import pytest

from dictation.records.findings_rows import CellError, read_finding
from grammar.findings import (
    Animal,
    AnimalClass,
    Arrangement,
    Conceptus,
    Condition,
    FetalSex,
    Finding,
    History,
    Landmark,
    LandmarkName,
    Measurement,
    Membranes,
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
    SeenRemark,
    Sex,
    Side,
    StatedAs,
    SweepStructure,
    TreatmentClass,
    UterineState,
    Uterus,
    Viability,
    Wall,
)

DAY = date(2026, 12, 3)
OLD: tuple[tuple[str, Finding], ...] = (
    (
        "animal||tag 0412; heifer; electronic 982; on the list|||",
        Animal("0412", "982", listed=True, animal_class=AnimalClass.HEIFER),
    ),
    ("animal||not listed|||", Animal(listed=False)),
    ("animal|||||", Animal()),
    (
        "ovary|left|follicle; count 2; by 9 mm; cavity 6 mm; wall 3 mm; unit assumed|22.5|mm|",
        Ovary(Side.LEFT, OvarianStructure.FOLLICLE, 22.5, 9, True, 6, None, 3, 2, True),
    ),
    (
        "ovary||cyst; no cavity; thick wall|||",
        Ovary(None, OvarianStructure.CYST, cavity=False, wall=Wall.THICK),
    ),
    (
        "ovary|both|corpus_luteum; cavity|||",
        Ovary(Side.BOTH, OvarianStructure.CORPUS_LUTEUM, cavity=True),
    ),
    ("uterus|body|fluid; unit assumed|4|mm|", Uterus(Side.BODY, UterineState.FLUID, 4.0, True)),
    (
        "pregnancy|right|pregnant; to 49 days; about; said in weeks; status assumed|42|days|",
        Pregnancy(PregnancyStatus.PREGNANT, 42, 49, True, Side.RIGHT, StatedAs.WEEKS, True),
    ),
    ("conceptus||one_each_horn|2|fetuses|", Conceptus(2, Arrangement.ONE_EACH_HORN)),
    ("conceptus|||1|fetuses|", Conceptus(1)),
    (
        "viability||heartbeat; no movement; no loss; membranes attached|||2",
        Viability(True, False, Membranes.ATTACHED, False, 2),
    ),
    ("landmark||movement; not seen|||1", Landmark(LandmarkName.MOVEMENT, False, 1)),
    (
        "measurement||eye_diameter; unit assumed|9|mm|",
        Measurement(Quantity.EYE_DIAMETER, 9.0, unit_assumed=True),
    ),
    ("fetal_sex||female|||2", FetalSex(Sex.FEMALE, 2)),
    ("seen||left_horn; not_seen|||", Seen(SweepStructure.LEFT_HORN, SeenRemark.NOT_SEEN)),
    ("condition|||3.5|of 8|", Condition(3.5, 8)),
    ("condition|||3|score|", Condition(3.0)),
    ("plan||recheck|14|days|", Plan(PlanAction.RECHECK, 14)),
    (
        "plan||treat; prostaglandin; on 2026-12-03|||",
        Plan(PlanAction.TREAT, None, DAY, TreatmentClass.PROSTAGLANDIN),
    ),
    ("history||served; on 2026-12-03|||", History(PastEvent.SERVED, on_date=DAY)),
    ("history||calved|30|days ago|", History(PastEvent.CALVED, 30)),
    ("note||lame; off hind = 2, tag 7|||", Note("lame; off hind = 2, tag 7")),
)


def read(row: str) -> Finding:
    columns = ("finding", "side", "detail", "value", "unit", "fetus")
    return read_finding(dict(zip(columns, row.split("|"), strict=True)))


@pytest.mark.parametrize(("row", "finding"), OLD, ids=[row for row, _ in OLD])
def test_an_old_row_is_read(row: str, finding: Finding) -> None:
    assert read(row) == finding


@pytest.mark.parametrize(
    ("row", "column", "why"),
    [
        ("ovary|left|follicle; large|||", "detail", "'large' cannot be read"),
        ("ovary|left|follicel|||", "detail", "'follicel' is none of"),
        ("seen||cervix; fine|||", "detail", "'fine' is none of normal"),
        ("ovary|left|structure=cyst; structure=cyst|||", "detail", "'structure' cannot be read"),
        ("ovary|left|structure=cyst; colour=red|||", "detail", "'colour' cannot be read; known: "),
        ("ovary|left|structure=cyst; cavity=yes|||", "detail", "neither true nor false"),
        ("ovary|left|structure=cyst; count=2.5|||", "detail", "no whole number"),
        ("ovary|left|count=2|||", "detail", "structure= is missing"),
        ("ovary|left|structure=cyst|2|cm|", "unit", "'cm' is not mm"),
        ("ovary|left|structure=cyst|2|mm|1", "fetus", "ovary has none, and here is '1'"),
        ("measurement||quantity=eye_diameter|||", "value", "is empty"),
        ("history||event=served; on_date=3.12.|||", "detail", "no date like"),
        ("egg|||||", "finding", "'egg' is no finding"),
    ],
)
def test_what_fits_nothing_is_named_by_its_column(row: str, column: str, why: str) -> None:
    with pytest.raises(CellError, match=why) as caught:
        read(row)
    assert caught.value.column == column
