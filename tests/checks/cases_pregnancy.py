"""For each rule of the pregnancy families: an exam that raises it and one that does not."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

from grammar.findings import (
    Arrangement,
    Conceptus,
    FetalSex,
    Landmark,
    LandmarkName,
    Lie,
    Measurement,
    Membranes,
    Note,
    Pregnancy,
    PregnancyStatus,
    Quantity,
    Sex,
    TractLie,
    Viability,
)
from tests.checks.exams import (
    BOTH,
    LEFT,
    ON,
    OPEN,
    RIGHT,
    UNCERTAIN,
    Case,
    before,
    bull,
    cl,
    crl,
    exam,
    follicle,
    pregnant,
    served,
    static,
)

FAR, PELVIC = Lie(TractLie.OVER_THE_BRIM), Lie(TractLie.PELVIC)
TWINS = Conceptus(2)
ONE = Conceptus(1)
MALE, FEMALE = FetalSex(Sex.MALE), FetalSex(Sex.FEMALE)
BEAT, NO_BEAT, LOST = Viability(heartbeat=True), Viability(heartbeat=False), Viability(loss=True)
RIBS = Landmark(LandmarkName.RIBS)
SAME_HORN, ONE_EACH = (Conceptus(2, a) for a in Arrangement)
CALVED_60 = served(calved_on=ON - timedelta(days=60))

CASES: tuple[Case, ...] = (
    # Status
    Case("pregnant_and_open", exam(pregnant(), OPEN), exam(pregnant())),
    Case("uncertain_and_sure", exam(UNCERTAIN, OPEN), exam(UNCERTAIN)),
    Case("open_with_signs_of_pregnancy", exam(OPEN, BEAT), exam(OPEN, BEAT, LOST)),
    Case("open_out_of_reach", exam(OPEN, FAR), exam(OPEN, PELVIC)),
    Case("status_not_said", exam(crl(22)), exam(crl(22), closed=False)),
    Case(
        "status_taken_from_age",
        exam(Pregnancy(PregnancyStatus.PREGNANT, 40, approximate=True, status_assumed=True)),
        exam(pregnant(40)),
    ),
    Case(
        "pregnant_before_it_can_be_seen",
        exam(pregnant(22)),
        exam(pregnant(22), known=served(animal_class="heifer")),
    ),
    Case("pregnant_early", exam(pregnant(27)), exam(pregnant(29))),
    Case("open_too_early", exam(OPEN, known=served(25)), exam(OPEN, known=served(29))),
    Case(
        "heat_in_pregnancy",
        exam(pregnant(60), Note("bulling")),
        exam(OPEN, Note("bulling")),
    ),
    Case(
        "conceived_before_calving",
        exam(pregnant(120), known=CALVED_60),
        exam(pregnant(60), known=CALVED_60),
    ),
    Case(
        "conceived_just_after_calving",
        exam(pregnant(52), known=CALVED_60),
        exam(pregnant(40), known=CALVED_60),
    ),
    Case(
        "conceived_soon_after_calving",
        exam(pregnant(40), known=CALVED_60),
        exam(pregnant(30), known=CALVED_60),
    ),
    # Ages
    Case(
        "age_stated_and_measured_differ", exam(pregnant(45), crl(22)), exam(pregnant(45), crl(30))
    ),
    Case("age_stated_two_ways", exam(pregnant(45), pregnant(60)), exam(pregnant(45), pregnant(45))),
    Case(
        "no_service_fits_the_age",
        exam(pregnant(45), known=served(60, 81)),
        exam(pregnant(45), known=served(46, 81)),
    ),
    Case(
        "two_services_fit",
        exam(pregnant(45), known=served(44, 47)),
        exam(pregnant(45), known=served(44, 65)),
    ),
    Case(
        "measurements_disagree",
        exam(pregnant(), crl(22), Measurement(Quantity.AMNIOTIC_VESICLE_DIAMETER, 90)),
        exam(pregnant(), crl(22), Measurement(Quantity.AMNIOTIC_VESICLE_DIAMETER, 15)),
    ),
    Case(
        "one_size_two_values",
        exam(pregnant(), crl(22), crl(40)),
        exam(pregnant(), TWINS, crl(22), crl(40)),
    ),
    Case(
        "no_age_from_measurement",
        exam(pregnant(90), Measurement(Quantity.EYE_DIAMETER, 20)),
        exam(pregnant(90), Measurement(Quantity.BIPARIETAL_DIAMETER, 34)),
    ),
    Case("landmark_before_its_day", exam(pregnant(44), RIBS), exam(pregnant(60), RIBS)),
    Case(
        "landmark_expected_by_now",
        exam(pregnant(80), Landmark(LandmarkName.RIBS, seen=False)),
        exam(pregnant(50), Landmark(LandmarkName.RIBS, seen=False)),
    ),
    Case(
        "length_and_age_do_not_fit",
        exam(pregnant(45), Measurement(Quantity.TRUNK_DIAMETER, 60)),
        exam(pregnant(65), Measurement(Quantity.TRUNK_DIAMETER, 60)),
    ),
    # Dates
    Case(
        "due_before_exam",
        exam(pregnant(), known=served(310)),
        exam(pregnant(), known=served(283)),
    ),
    Case(
        "listed_date_cannot_be",
        exam(OPEN, known=served(-3)),
        exam(OPEN, known=served(3)),
    ),
    Case(
        "served_after_conception",
        exam(pregnant(66), known=served(66, 20)),
        exam(pregnant(20), known=served(66, 20)),
    ),
    Case(
        "bull_never_out",
        exam(pregnant(), known=bull(90)),
        exam(pregnant(60), known=bull(90)),
    ),
    Case(
        "breed_not_known",
        exam(pregnant(45), known=served(45, breed="purple")),
        exam(pregnant(45), known=served(45, breed="HOL")),
    ),
    # Signs of life
    Case("no_heartbeat", exam(pregnant(45), NO_BEAT), exam(pregnant(45), NO_BEAT, LOST)),
    Case("no_heartbeat_yet", exam(pregnant(26), NO_BEAT), exam(pregnant(26), BEAT)),
    Case(
        "heartbeat_said_two_ways",
        exam(pregnant(45), BEAT, NO_BEAT),
        exam(pregnant(45), TWINS, replace(BEAT, fetus=1), replace(NO_BEAT, fetus=2)),
    ),
    Case(
        "movement_without_heartbeat",
        exam(pregnant(60), NO_BEAT, Viability(movement=True)),
        exam(pregnant(60), BEAT, Viability(movement=True)),
    ),
    Case("alive_and_lost", exam(pregnant(45), BEAT, LOST), exam(pregnant(45), NO_BEAT, LOST)),
    Case(
        "detached_membranes",
        exam(pregnant(45), Viability(membranes=Membranes.DETACHED)),
        exam(pregnant(45), Viability(membranes=Membranes.ATTACHED)),
    ),
    Case("pregnant_and_lost", exam(pregnant(45), LOST), exam(OPEN, LOST)),
    # Twins
    Case("fetuses_counted_two_ways", exam(pregnant(), ONE, TWINS), exam(pregnant(), TWINS, TWINS)),
    Case(
        "fetus_beyond_count", exam(pregnant(), ONE, crl(22, 2)), exam(pregnant(), TWINS, crl(22, 2))
    ),
    Case(
        "twins_arranged_two_ways",
        exam(pregnant(), SAME_HORN, ONE_EACH),
        exam(pregnant(), SAME_HORN),
    ),
    Case(
        "twins_differ_in_size",
        exam(pregnant(), TWINS, crl(22, 1), crl(35, 2)),
        exam(pregnant(), TWINS, crl(22, 1), crl(24, 2)),
    ),
    Case(
        "twins_and_corpora_lutea_elsewhere",
        exam(pregnant(), ONE_EACH, cl(LEFT, 22), cl(LEFT, 24)),
        exam(pregnant(), ONE_EACH, cl(LEFT, 22), cl(RIGHT, 24)),
    ),
    Case("twins_arrangement_not_said", exam(pregnant(), TWINS), exam(pregnant(), ONE_EACH)),
    Case("twins_in_one_horn", exam(pregnant(), SAME_HORN), exam(pregnant(), ONE_EACH)),
    Case("sexes_of_twins", exam(pregnant(65), TWINS, MALE), exam(pregnant(65), ONE, MALE)),
    Case(
        "one_of_twins_lost",
        exam(pregnant(50), TWINS, replace(NO_BEAT, fetus=2)),
        exam(pregnant(50), TWINS, replace(BEAT, fetus=2)),
    ),
    Case("twins_due_earlier", exam(pregnant(50), TWINS), exam(pregnant(50), ONE)),
    # Corpora lutea
    Case(
        "corpus_luteum_on_other_side",
        exam(pregnant(45, RIGHT), cl(LEFT, 22)),
        exam(pregnant(45, RIGHT), cl(LEFT, 22), cl(RIGHT, 20)),
    ),
    Case(
        "no_corpus_luteum_in_pregnancy",
        exam(pregnant(45), follicle(LEFT, 9), static(RIGHT)),
        exam(pregnant(45), follicle(LEFT, 9)),
    ),
    Case(
        "small_corpus_luteum_alone",
        exam(pregnant(40), cl(LEFT, 10)),
        exam(pregnant(40), cl(LEFT, 18)),
    ),
    Case(
        "more_fetuses_than_corpora_lutea",
        exam(pregnant(45), TWINS, cl(LEFT, 22), follicle(RIGHT, 9)),
        exam(pregnant(45), TWINS, cl(LEFT, 22), cl(RIGHT, 20)),
    ),
    Case(
        "more_corpora_lutea_than_fetuses",
        exam(pregnant(35), ONE, cl(LEFT, 22), cl(RIGHT, 20)),
        exam(pregnant(35), ONE, cl(LEFT, 22), cl(LEFT)),
    ),
    Case(
        "many_corpora_lutea_on_one_ovary",
        exam(OPEN, replace(cl(LEFT), count=4)),
        exam(OPEN, replace(cl(LEFT), count=2)),
    ),
    # Fetal sex
    Case("sex_cannot_be_seen", exam(pregnant(48), MALE), exam(pregnant(62), FEMALE)),
    Case("sex_outside_window", exam(pregnant(120), MALE), exam(pregnant(62), MALE)),
    Case(
        "sex_said_two_ways",
        exam(pregnant(62), MALE, FEMALE),
        exam(pregnant(62), TWINS, MALE, FEMALE),
    ),
    # Earlier exams
    Case(
        "age_has_not_advanced",
        exam(pregnant(50), earlier=(before(40, pregnant(45)),)),
        exam(pregnant(85), earlier=(before(40, pregnant(45)),)),
    ),
    Case(
        "pregnant_then_open_now",
        exam(OPEN, earlier=(before(40, pregnant(45)),)),
        exam(OPEN, LOST, earlier=(before(40, pregnant(45)),)),
    ),
    Case(
        "listed_pregnant_open_now",
        exam(OPEN, known=served(last_status="pregnant")),
        exam(OPEN, known=served(last_status="open")),
    ),
    Case(
        "open_then_older_pregnancy_now",
        exam(pregnant(80), earlier=(before(30, OPEN),)),
        exam(pregnant(45), earlier=(before(30, OPEN),)),
    ),
    Case(
        "fetal_sex_changed",
        exam(pregnant(90), FEMALE, earlier=(before(28, pregnant(62), MALE),)),
        exam(pregnant(90), MALE, earlier=(before(28, pregnant(62), MALE),)),
    ),
    Case(
        "fetuses_changed",
        exam(pregnant(60), ONE, earlier=(before(30, pregnant(30), TWINS),)),
        exam(pregnant(60), TWINS, earlier=(before(30, pregnant(30), TWINS),)),
    ),
    Case(
        "pregnant_horn_changed",
        exam(pregnant(60, LEFT), earlier=(before(30, pregnant(30, RIGHT)),)),
        exam(pregnant(60, LEFT), earlier=(before(30, pregnant(30, LEFT)),)),
    ),
    Case(
        "static_twice",
        exam(static(BOTH), earlier=(before(10, static(BOTH)),)),
        exam(static(BOTH), earlier=(before(3, static(BOTH)),)),
    ),
)
