"""Published facts as flags: each row names the paper it is from.

Where the figure was recalled and not seen on a page, the source says 'from memory'.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from grammar.checks.tract import DEFINITIONS
from grammar.exam import CystDefinition, Exam
from grammar.findings import (
    Animal,
    AnimalClass,
    Conceptus,
    FetalSex,
    Landmark,
    LandmarkName,
    OvarianStructure,
    Ovary,
    Plan,
    PlanAction,
    Sex,
    TreatmentClass,
)
from tests.checks.exams import (
    LEFT,
    OPEN,
    RIGHT,
    cl,
    exam,
    flag_of,
    follicle,
    pregnant,
    rules_of,
    served,
    static,
)

CURRAN = "Curran, Pierson & Ginther 1986, J Am Vet Med Assoc 189:1289-1302, from memory"
ROMANO = "Romano et al. 2006, Theriogenology"
SEXING = "68 cows, abstract: not before day 52; 15 cows, abstract: none at days 161-168"
NAMES = LandmarkName


@pytest.mark.parametrize(
    ("landmark", "age", "first_seen", "source"),
    [
        (NAMES.SPLIT_HOOVES, 35, 42, CURRAN),
        (NAMES.RIBS, 44, 51, CURRAN),
        (NAMES.PLACENTOMES, 26, 33, CURRAN),
        (NAMES.HINDLIMB_BUDS, 23, 30, CURRAN),
        (NAMES.AMNION, 21, 28, CURRAN),
    ],
)
def test_a_structure_seen_a_week_before_its_first_day_is_queried(
    landmark: LandmarkName, age: int, first_seen: int, source: str
) -> None:
    flag = flag_of(exam(pregnant(age), Landmark(landmark)), "landmark_before_its_day")
    assert ("first seen", f"day {first_seen}") in flag.figures
    assert "Curran" in source


@pytest.mark.parametrize("landmark", [NAMES.SPLIT_HOOVES, NAMES.RIBS, NAMES.PLACENTOMES])
def test_a_structure_seen_two_days_before_its_first_day_is_within_the_allowance(
    landmark: LandmarkName,
) -> None:
    # Papers count from ovulation, a day after service: 2 to 3 days are allowed.
    first = {NAMES.SPLIT_HOOVES: 42, NAMES.RIBS: 51, NAMES.PLACENTOMES: 33}[landmark]
    assert "landmark_before_its_day" not in rules_of(exam(pregnant(first - 2), Landmark(landmark)))


@pytest.mark.parametrize(
    ("checked", "rule", "raised", "source"),
    [
        (
            exam(pregnant(60), Landmark(NAMES.RIBS)),
            "landmark_before_its_day",
            False,
            "Univ. Pennsylvania teaching page: ribs by day 53",
        ),
        (exam(pregnant(48), FetalSex(Sex.MALE)), "sex_cannot_be_seen", True, SEXING),
        (exam(pregnant(62), FetalSex(Sex.FEMALE)), "sex_cannot_be_seen", False, SEXING),
        (exam(pregnant(62), FetalSex(Sex.FEMALE)), "sex_outside_window", False, SEXING),
        (exam(pregnant(165), FetalSex(Sex.MALE)), "sex_cannot_be_seen", True, SEXING),
        (exam(pregnant(52), FetalSex(Sex.MALE)), "sex_cannot_be_seen", False, SEXING),
        (exam(pregnant(160), FetalSex(Sex.MALE)), "sex_cannot_be_seen", False, SEXING),
        (exam(OPEN, known=served(25)), "open_too_early", True, ROMANO),
        (exam(OPEN, known=served(28)), "open_too_early", True, ROMANO),
        (exam(OPEN, known=served(29)), "open_too_early", False, ROMANO),
        (
            exam(Animal("837", animal_class=AnimalClass.HEIFER), OPEN, known=served(28)),
            "open_too_early",
            False,
            ROMANO,
        ),
        (
            exam(Animal("837", animal_class=AnimalClass.HEIFER), OPEN, known=served(25)),
            "open_too_early",
            True,
            ROMANO,
        ),
        (
            exam(pregnant(35), Conceptus(1), cl(LEFT, 22), cl(RIGHT, 20)),
            "more_corpora_lutea_than_fetuses",
            True,
            "Fricke & Wiltbank 1999; ADSA abstract 141",
        ),
        (
            exam(pregnant(35), Conceptus(2), cl(LEFT, 22), static(RIGHT)),
            "more_fetuses_than_corpora_lutea",
            True,
            "general, from memory",
        ),
        (
            exam(
                pregnant(45), Plan(PlanAction.TREAT, treatment_class=TreatmentClass.PROSTAGLANDIN)
            ),
            "plan_would_end_pregnancy",
            True,
            "21 CFR 522.460",
        ),
        (
            exam(OPEN, follicle(LEFT, 27), cl(RIGHT, 22)),
            "cyst_beside_corpus_luteum",
            True,
            "Northern KZN & Midlands proceedings 2019; Roberts",
        ),
        (
            exam(OPEN, follicle(LEFT, 27), cl(RIGHT, 22)),
            "follicle_of_cyst_size",
            False,
            "Northern KZN & Midlands proceedings 2019; Roberts",
        ),
        (
            exam(OPEN, Ovary(LEFT, OvarianStructure.CYST, 30, wall_mm=5)),
            "wall_of_cyst",
            True,
            "Douthwaite & Dobson 2000, Vet Rec: luteal 5.3 mm, follicular 2.5 mm",
        ),
        (
            exam(OPEN, replace(follicle(LEFT, 2.4), unit_assumed=True)),
            "size_of_ovarian_structure",
            True,
            "Lopez-Gatius et al. 2022, Animals 12:1140: deviation at 8.5 mm",
        ),
        (
            exam(OPEN, replace(cl(LEFT, 22), unit_assumed=True)),
            "size_of_ovarian_structure",
            False,
            "textbook summary, from memory: 8 to 40 mm",
        ),
    ],
)
def test_a_published_fact_raises_its_flag(
    checked: Exam, rule: str, raised: bool, source: str
) -> None:
    assert (rule in rules_of(checked)) is raised, source


def test_a_luteal_wall_is_named_as_such_and_left_open() -> None:
    flag = flag_of(exam(OPEN, Ovary(LEFT, OvarianStructure.CYST, 30, wall_mm=5)), "wall_of_cyst")
    assert "luteal" in flag.why
    assert "never settles" in flag.why


def test_a_size_without_unit_asks_and_assumes_nothing() -> None:
    flag = flag_of(
        exam(OPEN, replace(follicle(LEFT, 2.4), unit_assumed=True)), "size_of_ovarian_structure"
    )
    assert "No unit was spoken" in flag.why
    assert "24" not in flag.why


@pytest.mark.parametrize(
    ("size_mm", "met"),
    [
        # Roberts: 25 mm or more; Vanholder et al. 2006 and Silvia et al. 2002 from memory.
        (
            25,
            {CystDefinition.OVER_25_MM, CystDefinition.AT_LEAST_20_MM, CystDefinition.OVER_17_MM},
        ),
        (22, {CystDefinition.AT_LEAST_20_MM, CystDefinition.OVER_17_MM}),
        (20, {CystDefinition.AT_LEAST_20_MM, CystDefinition.OVER_17_MM}),
        (24.9, {CystDefinition.AT_LEAST_20_MM, CystDefinition.OVER_17_MM}),
        (17, set()),
    ],
)
def test_which_definitions_of_a_cyst_a_size_meets(size_mm: float, met: set[CystDefinition]) -> None:
    assert {name for name, rule in DEFINITIONS.items() if rule.size_met(size_mm)} == met
