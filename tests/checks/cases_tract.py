"""For each rule of identity, tract, plans and ranges: an exam that raises it, one that does not."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from grammar.exam import KnownAnimal
from grammar.findings import (
    Animal,
    AnimalClass,
    Conceptus,
    Condition,
    History,
    Measurement,
    OvarianStructure,
    Ovary,
    PastEvent,
    Plan,
    PlanAction,
    Pregnancy,
    PregnancyStatus,
    Quantity,
    Seen,
    Side,
    SweepStructure,
    TreatmentClass,
    UterineState,
    Uterus,
    Wall,
)
from tests.checks.exams import (
    BOTH,
    LEFT,
    OPEN,
    RIGHT,
    UNCERTAIN,
    Case,
    before,
    cl,
    exam,
    follicle,
    pregnant,
    served,
    static,
)

LISTED = KnownAnimal("837", electronic_id="990000000000837", parity=2)
HEIFER = Animal("837", animal_class=AnimalClass.HEIFER)
CYST = Ovary(LEFT, OvarianStructure.CYST, 30)
FOLLICULAR = Ovary(LEFT, OvarianStructure.FOLLICULAR_CYST, 30)
PYOMETRA = Uterus(None, UterineState.PYOMETRA)
FLUID = Uterus(None, UterineState.FLUID)
CLOUDY = Uterus(None, UterineState.CLOUDY_FLUID)
METRITIS = Uterus(None, UterineState.METRITIS)
CLEAR = Uterus(None, UterineState.CLEAR)
FREEMARTIN = Uterus(None, UterineState.FREEMARTIN)
MUMMY = Uterus(None, UterineState.MUMMIFIED)
PG = Plan(PlanAction.TREAT, treatment_class=TreatmentClass.PROSTAGLANDIN)
INSERT = Plan(PlanAction.TREAT, treatment_class=TreatmentClass.PROGESTERONE_DEVICE)
SYNCH = Plan(PlanAction.TREAT, treatment_class=TreatmentClass.SYNCHRONISATION)
GNRH = Plan(PlanAction.TREAT, treatment_class=TreatmentClass.GNRH)
END = Plan(PlanAction.TERMINATE)
BREED, CULL = Plan(PlanAction.BREED), Plan(PlanAction.CULL)
DRY_OFF = Plan(PlanAction.DRY_OFF)


def calved(days: int) -> History:
    return History(PastEvent.CALVED, days_ago=days)


def recheck(days: int) -> Plan:
    return Plan(PlanAction.RECHECK, in_days=days)


CASES: tuple[Case, ...] = (
    # Identity
    Case("no_tag", exam(OPEN, tag=None), exam(OPEN)),
    Case("tag_not_on_list", exam(herd_list_given=True), exam(herd_list_given=True, known=LISTED)),
    Case("same_tag_twice", exam(tag_repeated_in=(4,)), exam()),
    Case(
        "two_tags_in_one_exam",
        exam(Animal("837"), Animal("412")),
        exam(Animal("837"), Animal("837")),
    ),
    Case(
        "electronic_number_differs",
        exam(Animal(electronic_id="0412"), known=LISTED),
        exam(Animal(electronic_id="0837"), known=LISTED),
    ),
    Case(
        "class_differs_from_list",
        exam(HEIFER, known=LISTED),
        exam(HEIFER, known=replace(LISTED, parity=0)),
    ),
    Case("class_said_two_ways", exam(HEIFER, calved(40)), exam(HEIFER)),
    Case(
        "heifer_with_a_calving",
        exam(HEIFER, known=replace(LISTED, parity=0, calved_on=date(2026, 1, 5))),
        exam(known=replace(LISTED, calved_on=date(2026, 1, 5))),
    ),
    Case(
        "listed_as_male_or_gone",
        exam(known=replace(LISTED, animal_class="bull")),
        exam(known=replace(LISTED, animal_class="cow")),
    ),
    Case("no_side_said", exam(cl(None, 22)), exam(cl(LEFT, 22))),
    # Cysts and ovaries
    Case("follicle_of_cyst_size", exam(OPEN, follicle(LEFT, 28)), exam(OPEN, follicle(LEFT, 22))),
    Case("cyst_smaller_than_definition", exam(OPEN, replace(CYST, size_mm=22)), exam(OPEN, CYST)),
    Case(
        "cyst_beside_corpus_luteum",
        exam(OPEN, follicle(LEFT, 27), cl(RIGHT, 22)),
        exam(OPEN, follicle(LEFT, 16), cl(RIGHT, 22)),
    ),
    Case(
        "wall_against_kind_of_cyst",
        exam(OPEN, replace(FOLLICULAR, wall_mm=5)),
        exam(OPEN, replace(FOLLICULAR, wall_mm=2.5)),
    ),
    Case("wall_of_cyst", exam(OPEN, replace(CYST, wall=Wall.THICK)), exam(OPEN, CYST)),
    Case(
        "luteal_cyst_in_pregnancy",
        exam(pregnant(), Ovary(LEFT, OvarianStructure.LUTEAL_CYST, 30)),
        exam(pregnant(), replace(cl(LEFT, 30), cavity=True)),
    ),
    Case(
        "large_corpus_luteum_without_cavity",
        exam(OPEN, cl(LEFT, 38)),
        exam(OPEN, replace(cl(LEFT, 38), cavity=True)),
    ),
    Case(
        "static_and_active_ovary",
        exam(OPEN, static(LEFT), cl(LEFT, 22)),
        exam(OPEN, static(LEFT), cl(RIGHT, 22)),
    ),
    Case(
        "structure_there_and_not_there",
        exam(OPEN, cl(LEFT), replace(cl(BOTH), count=0)),
        exam(OPEN, cl(LEFT), replace(cl(RIGHT), count=0)),
    ),
    Case("both_ovaries_static", exam(OPEN, static(BOTH)), exam(OPEN, static(LEFT))),
    Case(
        "oedema_with_corpus_luteum",
        exam(OPEN, Uterus(None, UterineState.OEDEMA), cl(LEFT, 24)),
        exam(OPEN, Uterus(None, UterineState.OEDEMA), follicle(LEFT, 17)),
    ),
    Case(
        "cyst_not_yet_persistent",
        exam(OPEN, CYST),
        exam(OPEN, CYST, earlier=(before(14, OPEN, CYST),)),
    ),
    Case(
        "cyst_persists",
        exam(OPEN, CYST, earlier=(before(14, OPEN, CYST),)),
        exam(OPEN, CYST, earlier=(before(14, OPEN, replace(CYST, side=RIGHT)),)),
    ),
    Case(
        "recheck_not_done",
        exam(OPEN, earlier=(before(40, UNCERTAIN, recheck(14)),)),
        exam(OPEN, earlier=(before(14, UNCERTAIN, recheck(14)),)),
    ),
    # Uterus
    Case(
        "uterus_said_two_ways",
        exam(OPEN, CLEAR, CLOUDY),
        exam(OPEN, replace(CLEAR, side=Side.LEFT), replace(CLOUDY, side=Side.RIGHT)),
    ),
    Case(
        "pyometra_without_corpus_luteum", exam(OPEN, PYOMETRA), exam(OPEN, PYOMETRA, cl(LEFT, 22))
    ),
    Case("uterine_disease_in_pregnancy", exam(pregnant(), PYOMETRA), exam(pregnant(), FLUID)),
    Case("dead_fetus_and_pregnant", exam(pregnant(), MUMMY), exam(OPEN, MUMMY)),
    Case("freemartin_with_a_tract", exam(FREEMARTIN, cl(LEFT)), exam(FREEMARTIN)),
    Case(
        "calving_state_in_pregnancy",
        exam(pregnant(40), Uterus(None, UterineState.RETAINED_MEMBRANES)),
        exam(OPEN, Uterus(None, UterineState.RETAINED_MEMBRANES)),
    ),
    Case("calving_state_in_heifer", exam(HEIFER, METRITIS), exam(HEIFER, CLEAR)),
    Case(
        "fluid_soon_after_calving", exam(OPEN, CLOUDY, calved(14)), exam(OPEN, CLOUDY, calved(24))
    ),
    Case(
        "slow_uterus_after_calving", exam(OPEN, CLOUDY, calved(40)), exam(OPEN, CLOUDY, calved(24))
    ),
    Case("metritis_late", exam(METRITIS, calved(30)), exam(METRITIS, calved(10))),
    Case(
        "involuted_early",
        exam(Uterus(None, UterineState.INVOLUTED), calved(15)),
        exam(Uterus(None, UterineState.INVOLUTED), calved(38)),
    ),
    Case("fluid_alone", exam(FLUID), exam(FLUID, follicle(LEFT, 17))),
    # Plans
    Case("plan_would_end_pregnancy", exam(pregnant(45), PG), exam(OPEN, PG)),
    Case("prostaglandin_twice_in_pregnancy", exam(pregnant(45), PG, PG), exam(pregnant(45), PG)),
    Case("termination_stated", exam(pregnant(45), END, PG), exam(pregnant(45), PG, PG)),
    Case("prostaglandin_and_status_unsettled", exam(UNCERTAIN, PG), exam(OPEN, PG)),
    Case(
        "prostaglandin_and_open_not_sure",
        exam(OPEN, PG, known=served(20)),
        exam(OPEN, PG, known=served(40)),
    ),
    Case(
        "insert_against_its_label",
        exam(OPEN, INSERT, calved(12)),
        exam(OPEN, INSERT, calved(60)),
    ),
    Case(
        "breeding_soon_after_calving", exam(OPEN, BREED, calved(20)), exam(OPEN, BREED, calved(60))
    ),
    Case("not_fit_for_transport", exam(pregnant(258), CULL), exam(pregnant(200), CULL)),
    Case(
        "prostaglandin_without_corpus_luteum",
        exam(OPEN, PG, static(BOTH)),
        exam(OPEN, PG, cl(LEFT, 22), static(RIGHT)),
    ),
    Case("plan_for_an_open_cow_in_pregnancy", exam(pregnant(45), SYNCH), exam(OPEN, SYNCH)),
    Case("plans_contradict", exam(OPEN, BREED, CULL), exam(OPEN, BREED)),
    Case(
        "recheck_too_early",
        exam(UNCERTAIN, recheck(5), known=served(20)),
        exam(UNCERTAIN, recheck(14), known=served(20)),
    ),
    Case(
        "plan_before_exam",
        exam(Plan(PlanAction.RECHECK, on_date=date(2026, 5, 1))),
        exam(Plan(PlanAction.RECHECK, on_date=date(2026, 6, 1))),
    ),
    Case(
        "recheck_after_calving", exam(pregnant(250), recheck(90)), exam(pregnant(200), recheck(14))
    ),
    Case("uncertain_without_recheck", exam(UNCERTAIN), exam(UNCERTAIN, recheck(10))),
    Case("dry_period_unusual", exam(pregnant(100), DRY_OFF), exam(pregnant(222), DRY_OFF)),
    Case("dry_off_and_open", exam(OPEN, DRY_OFF), exam(pregnant(222), DRY_OFF)),
    Case("treatment_by_class", exam(OPEN, GNRH), exam(OPEN, BREED)),
    # Ranges
    Case("size_of_ovarian_structure", exam(OPEN, cl(LEFT, 80)), exam(OPEN, cl(LEFT, 22))),
    Case(
        "axes_far_apart",
        exam(OPEN, replace(cl(LEFT, 12), second_size_mm=30)),
        exam(OPEN, replace(cl(LEFT, 20), second_size_mm=18)),
    ),
    Case(
        "part_larger_than_structure",
        exam(OPEN, replace(cl(LEFT, 22), cavity_mm=25)),
        exam(OPEN, replace(cl(LEFT, 22), cavity_mm=9)),
    ),
    Case(
        "size_of_conceptus",
        exam(pregnant(), Measurement(Quantity.CROWN_RUMP_LENGTH, 2200)),
        exam(pregnant(), Measurement(Quantity.CROWN_RUMP_LENGTH, 22)),
    ),
    Case("depth_of_fluid", exam(replace(FLUID, depth_mm=800)), exam(replace(FLUID, depth_mm=8))),
    Case("age_outside_pregnancy", exam(pregnant(340)), exam(pregnant(45))),
    Case(
        "age_runs_backwards",
        exam(Pregnancy(PregnancyStatus.PREGNANT, 45, 40)),
        exam(Pregnancy(PregnancyStatus.PREGNANT, 40, 45)),
    ),
    Case("number_of_fetuses", exam(pregnant(), Conceptus(5)), exam(pregnant(), Conceptus(3))),
    Case("score_outside_scale", exam(Condition(5.5, 5)), exam(Condition(2.75, 5))),
    Case("score_without_scale", exam(Condition(5.5)), exam(Condition(5.5, 9))),
    Case("days_beyond_reason", exam(recheck(400)), exam(recheck(14))),
    # The sweep
    Case(
        "sweep_not_complete",
        exam(OPEN, cl(LEFT, 22)),
        exam(OPEN, CLEAR, cl(LEFT, 22), static(RIGHT), Seen(SweepStructure.CERVIX)),
    ),
)
