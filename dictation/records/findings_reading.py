"""A row of findings.csv back to the finding that it was written from. The twin of findings_rows."""

from __future__ import annotations

import re
from collections.abc import Callable

from dictation.records.finding_cells import (
    CellError,
    Cells,
    Words,
    day,
    days_of,
    fetus_of,
    needed,
    number,
    one_of,
    side_of,
    size_of,
    whole,
)
from grammar.findings import (
    FINDING_NAMES,
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
    StatedAs,
    SweepStructure,
    TreatmentClass,
    UterineState,
    Uterus,
    Viability,
    Wall,
)


def read_finding(name: str, cells: Cells) -> Finding:
    """The finding of a row. Raises CellError."""
    reader = _READERS.get(name)
    if reader is None:
        raise CellError("finding", f"'{name}' is no finding")
    return reader(cells)


def _mm(words: Words, name: str) -> float | None:
    text = words.after(f"{name} (.+) mm")
    return None if text is None else number(text, "detail")


def _animal(cells: Cells) -> Animal:
    words = Words(cells.parts)
    listed = True if words.flag("on the list") else False if words.flag("not listed") else None
    animal = Animal(
        tag=words.after("tag (.+)"),
        electronic_id=words.after("electronic (.+)"),
        listed=listed,
        animal_class=words.one_of(AnimalClass),
    )
    words.end()
    return animal


def _ovary(cells: Cells) -> Ovary:
    words = Words(cells.parts)
    structure = one_of(OvarianStructure, words.first())
    count = words.after("count (.+)")
    cavity_mm = _mm(words, "cavity")
    has_cavity = cavity_mm is not None or words.flag("cavity")
    cavity = True if has_cavity else False if words.flag("no cavity") else None
    wall = words.after("(.+) wall")
    found = Ovary(
        side=side_of(cells),
        structure=structure,
        size_mm=size_of(cells),
        second_size_mm=_mm(words, "by"),
        cavity=cavity,
        cavity_mm=cavity_mm,
        wall=None if wall is None else one_of(Wall, wall),
        wall_mm=_mm(words, "wall"),
        count=None if count is None else whole(count, "detail"),
        unit_assumed=words.flag("unit assumed"),
    )
    words.end()
    return found


def _uterus(cells: Cells) -> Uterus:
    words = Words(cells.parts)
    state = one_of(UterineState, words.first())
    found = Uterus(side_of(cells), state, size_of(cells), words.flag("unit assumed"))
    words.end()
    return found


def _pregnancy(cells: Cells) -> Pregnancy:
    words = Words(cells.parts)
    status = one_of(PregnancyStatus, words.first())
    until = words.after("to (.+) days")
    unit = words.after("said in (.+)")
    found = Pregnancy(
        status=status,
        age_days=days_of(cells),
        age_to_days=None if until is None else whole(until, "detail"),
        approximate=words.flag("about"),
        side=side_of(cells),
        stated_as=None if unit is None else one_of(StatedAs, unit),
        status_assumed=words.flag("status assumed"),
    )
    words.end()
    return found


def _conceptus(cells: Cells) -> Conceptus:
    words = Words(cells.parts)
    found = Conceptus(whole(cells.value, "value"), words.one_of(Arrangement))
    words.end()
    return found


def _viability(cells: Cells) -> Viability:
    words = Words(cells.parts)
    said: dict[str, bool | None] = {}
    for sign in ("heartbeat", "movement", "loss"):
        said[sign] = True if words.flag(sign) else False if words.flag(f"no {sign}") else None
    membranes = words.after("membranes (.+)")
    found = Viability(
        heartbeat=said["heartbeat"],
        movement=said["movement"],
        membranes=None if membranes is None else one_of(Membranes, membranes),
        loss=said["loss"],
        fetus=fetus_of(cells),
    )
    words.end()
    return found


def _landmark(cells: Cells) -> Landmark:
    words = Words(cells.parts)
    name = one_of(LandmarkName, words.first())
    found = Landmark(name, not words.flag("not seen"), fetus_of(cells))
    words.end()
    return found


def _measurement(cells: Cells) -> Measurement:
    words = Words(cells.parts)
    quantity = one_of(Quantity, words.first())
    found = Measurement(quantity, needed(cells), fetus_of(cells), words.flag("unit assumed"))
    words.end()
    return found


def _sex(cells: Cells) -> FetalSex:
    return FetalSex(one_of(Sex, cells.detail), fetus_of(cells))


def _seen(cells: Cells) -> Seen:
    words = Words(cells.parts)
    structure = one_of(SweepStructure, words.first())
    found = Seen(structure, words.one_of(SeenRemark))
    words.end()
    return found


def _condition(cells: Cells) -> Condition:
    scale = re.fullmatch("of (.+)", cells.unit)
    return Condition(needed(cells), None if scale is None else whole(scale.group(1), "unit"))


def _plan(cells: Cells) -> Plan:
    words = Words(cells.parts)
    action = one_of(PlanAction, words.first())
    on = words.after("on (.+)")
    treatment = words.one_of(TreatmentClass)
    words.end()
    return Plan(action, days_of(cells), None if on is None else day(on), treatment)


def _history(cells: Cells) -> History:
    words = Words(cells.parts)
    event = one_of(PastEvent, words.first())
    on = words.after("on (.+)")
    words.end()
    return History(event, days_of(cells), None if on is None else day(on))


def _note(cells: Cells) -> Note:
    return Note(cells.detail)


_READERS: dict[str, Callable[[Cells], Finding]] = {
    FINDING_NAMES[Animal]: _animal,
    FINDING_NAMES[Ovary]: _ovary,
    FINDING_NAMES[Uterus]: _uterus,
    FINDING_NAMES[Pregnancy]: _pregnancy,
    FINDING_NAMES[Conceptus]: _conceptus,
    FINDING_NAMES[Viability]: _viability,
    FINDING_NAMES[Landmark]: _landmark,
    FINDING_NAMES[Measurement]: _measurement,
    FINDING_NAMES[FetalSex]: _sex,
    FINDING_NAMES[Seen]: _seen,
    FINDING_NAMES[Condition]: _condition,
    FINDING_NAMES[Plan]: _plan,
    FINDING_NAMES[History]: _history,
    FINDING_NAMES[Note]: _note,
}
