"""One row a field of a finding: all that is known of it, in one place.

Words for the eye (``grammar.wording``) and aloud (``grammar.say``), the cells of findings.csv, the
numbers and sides that a correction can replace and what tells two findings apart are made from
these rows, so a new field is a line of its dataclass, a row here and a rule of the grammar.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from functools import cache
from typing import Any, TypeAlias, cast, get_args, get_type_hints

from grammar.findings import (
    RENAMED,
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
    Lie,
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
    Stage,
    StatedAs,
    SweepStructure,
    TagColour,
    TractLie,
    TractScore,
    TreatmentClass,
    UterineState,
    Uterus,
    Viability,
    Wall,
)
from grammar.plausible import (
    DAYS_AGO,
    DAYS_AHEAD,
    FETUSES,
    FLUID_DEPTH_MM,
    PREGNANCY_DAYS,
    TRACT_SCORES,
    Range,
    of_measurement,
    of_ovary,
    of_score,
)

ELSE = object()
"""In a form by values: every other value that is known."""

Form: TypeAlias = str | Mapping[Any, str]
"""The words of a field: with {} for the value, or by the value, None being unknown. A name in
braces is a term of the vocabulary."""

Value: TypeAlias = str | int | float | bool | date | None

VALUE, DETAIL, NOWHERE = "value", "detail", ""
"""Where in findings.csv a field stands, beside ``side`` and ``fetus``."""


@dataclass(frozen=True, slots=True)
class Field:
    """A field of a finding.

    ``holds``: float is a measured number, int a whole one, bool a flag, str text; else a day or a
    word of an enumeration. ``written`` for the eye; ``spoken`` where it is said in other words.
    ``unit``: what follows the number; a number with a unit is one that 'make that' replaces.
    ``column``: of findings.csv. ``tells_apart``: two findings that differ in it are two findings,
    not one corrected. ``instead_of``: the field that need not be said beside this one.
    ``continues``: the number before, which leaves the unit to this one ('22 by 18 mm').
    """

    name: str
    holds: type
    written: Form = "{}"
    spoken: Form | None = None
    unit: str = ""
    column: str = DETAIL
    tells_apart: bool = False
    instead_of: str | None = None
    continues: str | None = None
    limits: Range | Callable[[Any], Range | None] | None = None

    @property
    def key(self) -> str:
        """Its name where it leaves the program: in JSON and in findings.csv."""
        return RENAMED.get(self.name, self.name)


def _mm(name: str, written: str = "{}", spoken: str | None = None, **more: Any) -> Field:
    return Field(name, float, written, spoken, MM, **more)


def _flag(name: str, yes: str, no: str, aloud: tuple[str, str]) -> Field:
    return Field(name, bool, {True: yes, False: no}, {True: aloud[0], False: aloud[1]})


def _unsaid(name: str, holds: type = bool, column: str = DETAIL) -> Field:
    """Said by the words of another field, or only how something was said."""
    return Field(name, holds, "", column=column)


MM, DAYS = "mm", "days"
SCORE = "score"
"""A unit that only findings.csv names: in words the form does."""
_HORNS = {Side.LEFT: "left horn", Side.RIGHT: "right horn", Side.BOTH: "both horns"}
_UTERUS = {**_HORNS, Side.BODY: "body"}
_OVARIES_ALOUD = {Side.LEFT: "left ovary", Side.RIGHT: "right ovary", Side.BOTH: "{both_ovaries}"}
_OVARIES: Form = {**_OVARIES_ALOUD, Side.BOTH: "both ovaries", ELSE: "ovary", None: "ovary"}
_FETUS_ALOUD = {1: "{first_fetus}", ELSE: "{second_fetus}", None: ""}
_FETUS = Field("fetus", int, "fetus {}:", _FETUS_ALOUD, column="fetus", tells_apart=True)
_FETUSES = {1: "single", 2: "twins", 3: "triplets"}
_FETUSES_ALOUD = {n: f"{{{term}}}" for n, term in _FETUSES.items()}
_LYING = {Arrangement.SAME_HORN: "in the same horn", Arrangement.ONE_EACH_HORN: "one in each horn"}
_MEMBRANES_ALOUD = {membranes: f"{{membranes_{membranes}}}" for membranes in Membranes}
_REMARKS = {SeenRemark.COULD_NOT_REACH: "not reached", None: "seen"}
_IN_DAYS, _IN_DAYS_ALOUD = {0: "today", ELSE: "in {}"}, {0: "{today}", ELSE: "in {}"}
_SCORE = ("condition {}", "{condition_word} {}")
_UNIT_ASSUMED = _unsaid("unit_assumed")

# Called what is measured: nothing says that it is the biparietal diameter of other papers.
_QUANTITY = {Quantity.BIPARIETAL_DIAMETER: "head width", ELSE: "{}"}
FIELDS: dict[type, tuple[Field, ...]] = {
    Animal: (
        Field("tag", str),
        _unsaid("animal_class", AnimalClass),
        _unsaid("electronic_id", str),
        _unsaid("listed"),
        _unsaid("tag_alone", column=NOWHERE),
        _unsaid("tag_colour", TagColour),
    ),
    Ovary: (
        Field("side", Side, _OVARIES, _OVARIES_ALOUD, column="side", tells_apart=True),
        Field("count", int, {0: "no", 1: ""}, {0: "no"}),
        Field("structure", OvarianStructure, {OvarianStructure.NONE: "nothing"}),
        _mm("size_mm", column=VALUE, limits=of_ovary),
        _mm("second_size_mm", "by {}", continues="size_mm", limits=of_ovary),
        _flag("cavity", "with a cavity", "no cavity", ("{cavity_with}", "{no_cavity}")),
        _mm("cavity_mm", "cavity {}", "{cavity_with} of {}", instead_of="cavity"),
        Field("wall", Wall, "{} wall"),
        _mm("wall_mm", "wall {}", instead_of="wall"),
        _UNIT_ASSUMED,
    ),
    Uterus: (
        Field("side", Side, {**_UTERUS, None: "uterus"}, _UTERUS, column="side", tells_apart=True),
        Field("state", UterineState),
        _mm("depth_mm", column=VALUE, limits=FLUID_DEPTH_MM),
        _UNIT_ASSUMED,
    ),
    Pregnancy: (
        Field("status", PregnancyStatus),
        Field("approximate", bool, {True: "about"}),
        Field("age_days", int, unit=DAYS, column=VALUE, limits=PREGNANCY_DAYS),
        Field("age_to_days", int, "to {}", None, DAYS, continues="age_days", limits=PREGNANCY_DAYS),
        _unsaid("stated_as", StatedAs),
        Field("side", Side, {**_HORNS, Side.BODY: "horn"}, _UTERUS, column="side"),
        _unsaid("status_assumed"),
        Field("stage", Stage),
    ),
    Conceptus: (
        Field("count", int, _FETUSES, _FETUSES_ALOUD, "fetuses", VALUE, limits=FETUSES),
        Field("arrangement", Arrangement, _LYING, "{}"),
    ),
    Viability: (
        _FETUS,
        _flag("heartbeat", "heartbeat", "no heartbeat", ("{heartbeat}", "{no_heartbeat}")),
        _flag("movement", "movement", "no movement", ("{movement}", "{no_movement}")),
        _flag("loss", "loss", "no loss", ("{lost}", "{viable}")),
        Field("membranes", Membranes, "membranes {}", _MEMBRANES_ALOUD),
    ),
    Landmark: (
        _FETUS,
        Field("name", LandmarkName, tells_apart=True),
        _flag("seen", "", "not seen", ("", "no")),
    ),
    Measurement: (
        _FETUS,
        Field("quantity", Quantity, _QUANTITY, tells_apart=True),
        _mm("size_mm", column=VALUE, limits=of_measurement),
        _UNIT_ASSUMED,
    ),
    FetalSex: (
        _FETUS,
        Field("sex", Sex, {Sex.UNDETERMINED: "sex not determined", ELSE: "{} fetus"}, "{}"),
    ),
    Seen: (
        Field("structure", SweepStructure, tells_apart=True),
        Field("remark", SeenRemark, _REMARKS, "{}"),
    ),
    Lie: (Field("where", TractLie),),
    TractScore: (
        Field(
            "score",
            int,
            "tract score {}",
            "{tract_score_word} {}",
            SCORE,
            VALUE,
            limits=TRACT_SCORES,
        ),
    ),
    Condition: (
        Field("score", float, *_SCORE, SCORE, VALUE, limits=of_score),
        Field("scale", int, "of {}", "out of {}"),
    ),
    Plan: (
        Field("action", PlanAction, tells_apart=True),
        Field("treatment_class", TreatmentClass),
        Field("in_days", int, _IN_DAYS, _IN_DAYS_ALOUD, DAYS, VALUE, limits=DAYS_AHEAD),
        Field("on_date", date, "on {}", instead_of="in_days"),
    ),
    History: (
        Field("event", PastEvent, tells_apart=True),
        Field("days_ago", int, unit="days ago", column=VALUE, limits=DAYS_AGO),
        Field("on_date", date, "on {}", instead_of="days_ago"),
    ),
    Note: (Field("text", str, "note: {}", "note {}"),),
}


@cache
def usual(kind: type) -> dict[str, Value]:
    """What the fields of a finding are where nothing was said of them; without those it needs."""
    found: dict[str, Value] = {}
    hints = get_type_hints(kind)
    for field in dataclasses.fields(cast("Any", kind)):
        if field.default is not dataclasses.MISSING:
            found[field.name] = field.default
        elif type(None) in get_args(hints[field.name]):
            found[field.name] = None
    return found


def known(finding: Finding) -> dict[str, Value]:
    """The fields of which something was said, by name and in the order of the rows."""
    kind: type = type(finding)
    usually = usual(kind)
    said = {field.name: getattr(finding, field.name) for field in FIELDS[kind]}
    return {n: value for n, value in said.items() if n not in usually or value != usually[n]}


def numbers_of(finding: Finding) -> tuple[tuple[Field, float], ...]:
    """The numbers that were said of a finding and that 'make that' can replace."""
    rows = (field for field in FIELDS[type(finding)] if field.unit)
    said = ((field, getattr(finding, field.name)) for field in rows)
    return tuple((field, number) for field, number in said if number is not None)


def with_value(finding: Finding, name: str, number: float) -> Finding | None:
    """The finding with another number in a field; None where only a whole one fits in there."""
    (holds,) = (field.holds for field in FIELDS[type(finding)] if field.name == name)
    if holds is int and not float(number).is_integer():
        return None
    return _replaced(finding, name, holds(number))


def on_side(finding: Finding, side: Side) -> Finding | None:
    """The finding on another side; None where it has none, or cannot lie there."""
    for field in FIELDS[type(finding)]:
        value = getattr(finding, field.name)
        if isinstance(value, Side):
            return _replaced(finding, field.name, side)
        if isinstance(value, SweepStructure) and side in (Side.LEFT, Side.RIGHT):
            _, _, part = value.partition("_")
            station = f"{side}_{part}"
            if station in list(SweepStructure):
                return _replaced(finding, field.name, SweepStructure(station))
    return None


def _replaced(finding: Finding, name: str, value: Value) -> Finding:
    return cast("Finding", dataclasses.replace(cast("Any", finding), **{name: value}))


def identity_of(finding: Finding) -> tuple[object, ...]:
    """What must be equal for a corrected finding to stand for an earlier one."""
    rows = (field for field in FIELDS[type(finding)] if field.tells_apart)
    return (type(finding), *(getattr(finding, field.name) for field in rows))


def main_of(finding: Finding) -> StrEnum | None:
    """The word that says what it is: the structure, the state, the quantity; None without one."""
    kind: type = type(finding)
    name = main_field(kind)
    return None if name is None else cast("StrEnum", getattr(finding, name))


@cache
def main_field(kind: type) -> str | None:
    """The field of the word that says what it is."""
    needed = (f for f in FIELDS[kind] if f.name not in usual(kind))
    return next((f.name for f in needed if issubclass(f.holds, StrEnum)), None)


def range_of(finding: Finding, field: Field) -> Range | None:
    """The plausible values of a number of this finding, where somebody says so."""
    return field.limits(finding) if callable(field.limits) else field.limits
