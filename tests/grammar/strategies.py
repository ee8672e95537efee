"""Random findings that the grammar can express, for property tests."""

from __future__ import annotations

from datetime import date, timedelta

from hypothesis import strategies as st

from grammar import normalise
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

VISIT = date(2026, 11, 18)
fetus = st.sampled_from([None, 1, 2])
ovary_sides = st.sampled_from([None, Side.LEFT, Side.RIGHT, Side.BOTH])
small_mm = st.one_of(
    st.integers(1, 99).map(float),
    st.integers(11, 999).filter(lambda n: n % 10).map(lambda n: n / 10),
)
long_mm = st.one_of(st.integers(1, 999).map(float), small_mm)
digits = st.text("0123456789", min_size=1, max_size=6).filter(lambda d: d != "0")

animals = st.one_of(
    st.builds(Animal, tag=digits, animal_class=st.sampled_from([None, *AnimalClass])),
    st.builds(Animal, tag=st.text("0123456789", min_size=3, max_size=6), tag_alone=st.just(True)),
    st.builds(Animal, tag=digits, tag_colour=st.sampled_from(TagColour)),
    st.builds(Animal, electronic_id=digits),
    st.just(Animal()),
)


@st.composite
def _ovary(draw: st.DrawFn) -> Ovary:
    side = draw(ovary_sides)
    structure = draw(st.sampled_from(list(OvarianStructure)))
    several = {OvarianStructure.CORPUS_LUTEUM, OvarianStructure.FOLLICLE, OvarianStructure.CYST}
    if structure in {OvarianStructure.NONE, OvarianStructure.ADHESION}:
        return Ovary(side or Side.LEFT, structure)
    count = draw(st.sampled_from([None, 0, 2, 3, 4, 5])) if structure in several else None
    if count == 0:
        return Ovary(side, structure, count=0)
    size = draw(st.none() | small_mm)
    second = None if size is None else draw(st.none() | small_mm)
    cavity = draw(st.sampled_from([None, True, False]))
    cavity_mm = draw(st.none() | small_mm) if cavity else None
    wall_mm = draw(st.none() | small_mm)
    wall = None if wall_mm is not None else draw(st.sampled_from([None, *Wall]))
    measured = any(v is not None for v in (size, cavity_mm, wall_mm))
    return Ovary(
        side,
        structure,
        size,
        second,
        cavity,
        cavity_mm,
        wall,
        wall_mm,
        count,
        measured and draw(st.booleans()),
    )


FLUIDS = {
    UterineState.FLUID,
    UterineState.CLOUDY_FLUID,
    UterineState.PYOMETRA,
    UterineState.MUCOMETRA,
}


@st.composite
def _uterus(draw: st.DrawFn) -> Uterus:
    state = draw(st.sampled_from(list(UterineState)))
    depth = draw(st.none() | small_mm) if state in FLUIDS else None
    sides = [None, *Side] if state is not UterineState.LARGER else [Side.LEFT, Side.RIGHT]
    side = draw(st.sampled_from(sides))
    return Uterus(side, state, depth, depth is not None and draw(st.booleans()))


def stages(status: PregnancyStatus) -> st.SearchStrategy[Stage | None]:
    pregnant = status is PregnancyStatus.PREGNANT
    return st.sampled_from([None, *Stage] if pregnant else [None])


@st.composite
def _pregnancy(draw: st.DrawFn) -> Pregnancy:
    status = draw(st.sampled_from([PregnancyStatus.PREGNANT, PregnancyStatus.UNCERTAIN]))
    side = draw(st.sampled_from([None, Side.LEFT, Side.RIGHT]))
    if status is PregnancyStatus.UNCERTAIN:
        side = None
    unit = draw(st.sampled_from([None, *StatedAs]))
    size = {StatedAs.WEEKS: 7, StatedAs.MONTHS: 30}.get(unit or StatedAs.DAYS, 1)
    age = draw(st.none() | st.integers(1, 9).map(lambda n: n * size))
    if age is None:
        return Pregnancy(status, side=side, stage=draw(stages(status)))
    upper = draw(st.none() | st.integers(1, 9).map(lambda n: age + n * size))
    about = upper is not None or draw(st.booleans())
    assumed = (
        unit is not None
        and status is PregnancyStatus.PREGNANT
        and side is None
        and draw(st.booleans())
    )
    stage = None if assumed else draw(stages(status))
    return Pregnancy(status, age, upper, about, side, unit, assumed, stage)


viabilities = st.one_of(
    st.builds(Viability, heartbeat=st.booleans(), fetus=fetus),
    st.builds(Viability, movement=st.booleans(), fetus=fetus),
    st.builds(Viability, membranes=st.sampled_from(Membranes), fetus=fetus),
    st.builds(Viability, loss=st.booleans(), fetus=fetus),
)


@st.composite
def _seen(draw: st.DrawFn) -> Seen:
    structure = draw(st.sampled_from(SweepStructure))
    remarks = [None, SeenRemark.NOT_SEEN, SeenRemark.COULD_NOT_REACH]
    if structure in {SweepStructure.CERVIX, SweepStructure.LEFT_OVARY, SweepStructure.RIGHT_OVARY}:
        remarks.append(SeenRemark.NORMAL)
    return Seen(structure, draw(st.sampled_from(remarks)))


@st.composite
def _plan(draw: st.DrawFn) -> Plan:
    action = draw(st.sampled_from(PlanAction))
    timed = {PlanAction.RECHECK, PlanAction.TREAT, PlanAction.BREED, PlanAction.DRY_OFF}
    when = draw(st.sampled_from(["never", "days", "date"])) if action in timed else "never"
    days = draw(st.integers(1, 99)) if when == "days" else None
    day = VISIT + timedelta(draw(st.integers(0, 360))) if when == "date" else None
    treatment = draw(st.sampled_from(TreatmentClass)) if action is PlanAction.TREAT else None
    return Plan(action, days, day, treatment)


histories = st.one_of(
    st.builds(History, st.sampled_from(PastEvent), days_ago=st.integers(1, 999)),
    st.builds(
        History,
        st.sampled_from(PastEvent),
        on_date=st.integers(0, 360).map(lambda n: VISIT - timedelta(n)),
    ),
)
conditions = st.builds(
    Condition,
    st.one_of(
        st.integers(1, 10).map(float),
        st.integers(1, 40).map(lambda n: n / 4).filter(lambda x: x > 1),
    ),
    st.sampled_from([None, 5, 8, 9, 10]),
)
notes = st.builds(
    Note,
    st.from_regex(r"[a-z]{1,8}( [a-z]{1,8}){0,4}", fullmatch=True).filter(
        lambda text: normalise(text) == text
    ),
)

findings: st.SearchStrategy[Finding] = st.one_of(
    animals,
    _ovary(),
    _uterus(),
    _pregnancy(),
    st.builds(Conceptus, st.integers(1, 3), st.sampled_from([None, *Arrangement])).filter(
        lambda c: c.count > 1 or c.arrangement is None
    ),
    viabilities,
    st.builds(
        Landmark,
        st.sampled_from(LandmarkName).filter(lambda name: name is not LandmarkName.MOVEMENT),
        st.booleans(),
        fetus,
    ),
    st.builds(Measurement, st.sampled_from(Quantity), long_mm, fetus, st.booleans()),
    st.builds(FetalSex, st.sampled_from(Sex), fetus),
    _seen(),
    conditions,
    st.builds(Lie, st.sampled_from(TractLie)),
    st.builds(TractScore, st.integers(1, 5)),
    _plan(),
    histories,
    notes,
)
