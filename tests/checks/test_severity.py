"""A normal exam raises no query, a visit knows its own tags, and doubt is said."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from grammar.checks import check_exam, check_visit
from grammar.exam import (
    CheckSettings,
    CystDefinition,
    Exam,
    FindingState,
    KnownAnimal,
    Service,
    Severity,
)
from grammar.findings import (
    Animal,
    AnimalClass,
    Arrangement,
    Conceptus,
    Condition,
    FetalSex,
    History,
    Landmark,
    LandmarkName,
    OvarianStructure,
    Ovary,
    PastEvent,
    Plan,
    PlanAction,
    Seen,
    SeenRemark,
    Sex,
    StatedAs,
    SweepStructure,
    TreatmentClass,
    UterineState,
    Uterus,
    Viability,
)
from tests.checks.exams import (
    BOTH,
    LEFT,
    ON,
    OPEN,
    RIGHT,
    UNCERTAIN,
    before,
    cl,
    crl,
    exam,
    flag_of,
    follicle,
    pregnant,
    rules_of,
    served,
    static,
)

PG = Plan(PlanAction.TREAT, treatment_class=TreatmentClass.PROSTAGLANDIN)
END = Plan(PlanAction.TERMINATE)
CLEAR = Uterus(None, UterineState.CLEAR)

NORMAL: dict[str, Exam] = {
    "pregnant, age and length agree": exam(
        Animal("837"),
        pregnant(45, RIGHT),
        crl(30),
        cl(RIGHT, 24),
        follicle(LEFT, 12),
        Viability(heartbeat=True),
        Landmark(LandmarkName.AMNION),
        CLEAR,
        known=served(44, 66),
    ),
    "pregnant in weeks": exam(pregnant(42, LEFT, StatedAs.WEEKS), crl(30), cl(LEFT, 22)),
    "pregnant in months": exam(pregnant(90, LEFT, StatedAs.MONTHS), crl(150), known=served(95)),
    "pregnant and sexed": exam(pregnant(62), FetalSex(Sex.FEMALE), cl(BOTH, 22), known=served(61)),
    "twins one each": exam(
        pregnant(50),
        Conceptus(2, Arrangement.ONE_EACH_HORN),
        cl(LEFT, 22),
        cl(RIGHT, 24),
        crl(37, 1),
        crl(39, 2),
        Viability(heartbeat=True, fetus=1),
    ),
    "open and cycling": exam(OPEN, cl(LEFT, 24), follicle(RIGHT, 15), CLEAR, known=served(70)),
    "on heat": exam(
        OPEN,
        follicle(RIGHT, 18),
        Uterus(None, UterineState.OEDEMA),
        Uterus(None, UterineState.FLUID, 5),
        Plan(PlanAction.BREED),
    ),
    "cavitary corpus luteum": exam(
        OPEN, Ovary(LEFT, OvarianStructure.CORPUS_LUTEUM, 28, cavity=True, cavity_mm=9), PG
    ),
    "pyometra": exam(OPEN, Uterus(None, UterineState.PYOMETRA, 30), cl(LEFT, 26), PG),
    "fresh cow": exam(
        Uterus(None, UterineState.FLUID, 20), static(BOTH), History(PastEvent.CALVED, 15)
    ),
    "luteal cyst": exam(
        OPEN, Ovary(LEFT, OvarianStructure.LUTEAL_CYST, 32, wall_mm=5), static(RIGHT), CLEAR
    ),
    "uncertain": exam(UNCERTAIN, Plan(PlanAction.RECHECK, in_days=10), known=served(24)),
    "heifer early": exam(
        Animal("837", animal_class=AnimalClass.HEIFER), OPEN, cl(LEFT, 22), known=served(28)
    ),
    "loss said": exam(OPEN, Viability(loss=True), Viability(heartbeat=False)),
    "ovary out of reach": exam(
        pregnant(150), Seen(SweepStructure.LEFT_OVARY, SeenRemark.COULD_NOT_REACH)
    ),
    "scored": exam(OPEN, Condition(2.75, 5), cl(LEFT, 20)),
    "mating period": exam(
        pregnant(50),
        crl(37),
        known=KnownAnimal(
            "837", services=(Service(ON - timedelta(days=70), ON - timedelta(days=30)),)
        ),
    ),
    "second look": exam(
        pregnant(75, RIGHT), cl(RIGHT, 24), earlier=(before(30, pregnant(45, RIGHT), crl(30)),)
    ),
    "dry off": exam(pregnant(222), Plan(PlanAction.DRY_OFF)),
}


@pytest.mark.parametrize("name", NORMAL)
def test_a_normal_exam_raises_no_query_and_no_stop(name: str) -> None:
    loud = [flag for flag in check_exam(NORMAL[name]) if flag.severity is not Severity.NOTE]
    assert loud == []


def test_silence_about_the_sweep_is_one_note_naming_the_stations() -> None:
    flags = [f for f in check_exam(exam(OPEN, cl(LEFT, 22))) if f.rule == "sweep_not_complete"]
    assert len(flags) == 1
    assert "cervix, body, left horn, right horn, right ovary" in flags[0].why
    assert "left ovary" not in flags[0].why


def test_an_open_exam_is_not_blamed_for_what_may_still_be_said() -> None:
    still_open = exam(
        Uterus(None, UterineState.PYOMETRA), crl(22), cl(None, 22), tag=None, closed=False
    )
    assert not rules_of(still_open) & {
        "sweep_not_complete",
        "pyometra_without_corpus_luteum",
        "status_not_said",
        "no_side_said",
        "no_tag",
    }


def test_the_same_tag_twice_is_found_across_a_visit() -> None:
    first, second, other = (
        replace(exam(OPEN, tag=tag), number=number)
        for number, tag in ((1, "837"), (2, "837"), (3, "412"))
    )
    flags = check_visit([first, second, other])
    names = {number: {flag.rule for flag in found} for number, found in flags.items()}
    assert "same_tag_twice" in names[1]
    assert "same_tag_twice" in names[2]
    assert "same_tag_twice" not in names[3]


def test_a_withdrawn_finding_does_not_count() -> None:
    both = exam(pregnant(45), OPEN)
    withdrawn = replace(both.recorded[1], state=FindingState.WITHDRAWN)
    assert "pregnant_and_open" in rules_of(both)
    assert "pregnant_and_open" not in rules_of(
        replace(both, recorded=(both.recorded[0], withdrawn))
    )


def test_a_queried_finding_counts_and_says_so() -> None:
    both = exam(pregnant(45), crl(22))
    doubtful = replace(both.recorded[1], state=FindingState.QUERIED, heard="crown rump twenty two")
    flag = flag_of(
        replace(both, recorded=(both.recorded[0], doubtful)), "age_stated_and_measured_differ"
    )
    assert "still queried" in flag.why
    assert ("still queried", "crown rump twenty two") in flag.figures


def test_ending_a_pregnancy_stops_until_it_is_said_twice_and_never_goes_unmarked() -> None:
    once = exam(pregnant(45), PG)
    twice = exam(pregnant(45), PG, PG)
    in_words = exam(pregnant(45), END, PG)
    assert flag_of(once, "plan_would_end_pregnancy").severity is Severity.STOP
    assert "plan_would_end_pregnancy" not in rules_of(twice)
    assert flag_of(twice, "prostaglandin_twice_in_pregnancy").severity is Severity.QUERY
    assert flag_of(in_words, "termination_stated").severity is Severity.NOTE


def test_a_stop_does_not_need_the_word_pregnant() -> None:
    assert "plan_would_end_pregnancy" in rules_of(exam(crl(22), Viability(heartbeat=True), PG))


def test_the_cyst_definition_is_a_setting() -> None:
    large = exam(OPEN, follicle(LEFT, 22))
    lower = replace(large, settings=CheckSettings(cyst_definition=CystDefinition.AT_LEAST_20_MM))
    assert "follicle_of_cyst_size" not in rules_of(large)
    flag = flag_of(lower, "follicle_of_cyst_size")
    assert "by 20 mm or more and over 17 mm for more than 6 days" in flag.why
    assert "not by 25 mm or more for 10 days" in flag.why


def test_the_sexing_window_is_a_setting() -> None:
    early = exam(pregnant(57), FetalSex(Sex.MALE))
    assert "sex_outside_window" not in rules_of(early)
    narrow = replace(early, settings=CheckSettings(sexing_from_day=58, sexing_to_day=70))
    assert "sex_outside_window" in rules_of(narrow)


def test_no_corpus_luteum_said_of_both_ovaries_is_asked_about_in_a_pregnancy() -> None:
    none = Ovary(BOTH, OvarianStructure.CORPUS_LUTEUM, count=0)
    assert "no_corpus_luteum_in_pregnancy" in rules_of(exam(pregnant(45), none))
    assert "no_corpus_luteum_in_pregnancy" not in rules_of(exam(OPEN, none))


def test_one_structure_said_twice_is_one_corpus_luteum() -> None:
    again = exam(pregnant(45), Conceptus(1), cl(LEFT, 22), cl(LEFT, 22), cl(LEFT))
    assert "more_corpora_lutea_than_fetuses" not in rules_of(again)


def test_a_luteal_cyst_is_not_taken_for_the_lack_of_a_corpus_luteum() -> None:
    cyst = Ovary(LEFT, OvarianStructure.LUTEAL_CYST, 30)
    assert "no_corpus_luteum_in_pregnancy" not in rules_of(exam(pregnant(45), cyst, static(RIGHT)))


def test_a_scan_one_cycle_younger_than_the_service_hints_at_a_later_one() -> None:
    flag = flag_of(exam(pregnant(), crl(22), known=served(61)), "no_service_fits_the_age")
    assert "about one cycle (18 to 24 days)" in flag.why


def test_movement_is_a_landmark_too() -> None:
    assert "landmark_before_its_day" in rules_of(exam(pregnant(35), Viability(movement=True)))
    assert "landmark_before_its_day" not in rules_of(exam(pregnant(50), Viability(movement=True)))


def test_a_calving_between_two_exams_ends_the_earlier_pregnancy() -> None:
    calved = served(calved_on=ON - timedelta(days=50))
    earlier = (before(120, pregnant(220)),)
    assert "pregnant_then_open_now" not in rules_of(exam(OPEN, known=calved, earlier=earlier))
    assert "age_has_not_advanced" not in rules_of(exam(pregnant(30), known=calved, earlier=earlier))
