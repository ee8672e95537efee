"""Phrases as a vet says them, and the findings they carry."""

from datetime import date

import pytest

from grammar import parse
from grammar.findings import (
    Animal,
    AnimalClass,
    Arrangement,
    Command,
    CommandName,
    Conceptus,
    FetalSex,
    Finding,
    History,
    Landmark,
    LandmarkName,
    Membranes,
    Note,
    OvarianStructure,
    Ovary,
    PastEvent,
    Plan,
    PlanAction,
    Pregnancy,
    PregnancyStatus,
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

VISIT = date(2026, 11, 18)
CL = OvarianStructure.CORPUS_LUTEUM
FOLLICLE = OvarianStructure.FOLLICLE
PREGNANT = PregnancyStatus.PREGNANT

PHRASES: list[tuple[str, tuple[Finding, ...]]] = [
    ("Heifer four one two", (Animal(tag="412", animal_class=AnimalClass.HEIFER),)),
    ("no tag", (Animal(),)),
    ("electronic number nine eight two", (Animal(electronic_id="982"),)),
    (
        "left ovary CL twenty-two millimetres, pregnant, about forty days",
        (
            Ovary(Side.LEFT, CL, 22),
            Pregnancy(PREGNANT, 40, approximate=True, stated_as=StatedAs.DAYS),
        ),
    ),
    (
        "left ovary CL twenty-two, follicle nine",
        (
            Ovary(Side.LEFT, CL, 22, unit_assumed=True),
            Ovary(Side.LEFT, FOLLICLE, 9, unit_assumed=True),
        ),
    ),
    (
        "CL on the left, follicle on the right",
        (Ovary(Side.LEFT, CL), Ovary(Side.RIGHT, FOLLICLE)),
    ),
    ("left, no, right ovary CL twenty", (Ovary(Side.RIGHT, CL, 20, unit_assumed=True),)),
    ("right ovary two follicles", (Ovary(Side.RIGHT, FOLLICLE, count=2),)),
    ("no CL on the left", (Ovary(Side.LEFT, CL, count=0),)),
    ("nothing on the right", (Ovary(Side.RIGHT, OvarianStructure.NONE),)),
    ("static ovaries", (Ovary(Side.BOTH, OvarianStructure.STATIC),)),
    ("both ovaries smooth", (Ovary(Side.BOTH, OvarianStructure.STATIC),)),
    ("R.O. static", (Ovary(Side.RIGHT, OvarianStructure.STATIC),)),
    (
        "left ovary, C L with a cavity of eight mil",
        (Ovary(Side.LEFT, CL, cavity=True, cavity_mm=8),),
    ),
    (
        "right ovary luteal cyst thirty-five mil, wall five mil",
        (Ovary(Side.RIGHT, OvarianStructure.LUTEAL_CYST, 35, wall_mm=5),),
    ),
    (
        "left ovary thin walled cyst thirty mil",
        (Ovary(Side.LEFT, OvarianStructure.FOLLICULAR_CYST, 30, wall=Wall.THIN),),
    ),
    (
        "left horn clear, right horn cloudy fluid twenty mil",
        (
            Uterus(Side.LEFT, UterineState.CLEAR),
            Uterus(Side.RIGHT, UterineState.CLOUDY_FLUID, 20),
        ),
    ),
    ("two centimetres of fluid", (Uterus(None, UterineState.FLUID, 20),)),
    (
        "pyometra, CL on the left",
        (Uterus(None, UterineState.PYOMETRA), Ovary(Side.LEFT, CL)),
    ),
    ("uterus clear", (Uterus(None, UterineState.CLEAR),)),
    ("good tone", (Uterus(None, UterineState.GOOD_TONE),)),
    ("cervix normal", (Seen(SweepStructure.CERVIX, SeenRemark.NORMAL),)),
    ("couldn't see the left ovary", (Seen(SweepStructure.LEFT_OVARY, SeenRemark.NOT_SEEN),)),
    (
        "right ovary could not reach",
        (Seen(SweepStructure.RIGHT_OVARY, SeenRemark.COULD_NOT_REACH),),
    ),
    ("She's empty", (Pregnancy(PregnancyStatus.OPEN),)),
    ("too early to say", (Pregnancy(PregnancyStatus.UNCERTAIN),)),
    ("in calf right horn sixty", (Pregnancy(PREGNANT, 60, side=Side.RIGHT),)),
    (
        "about forty days",
        (Pregnancy(PREGNANT, 40, approximate=True, stated_as=StatedAs.DAYS, status_assumed=True),),
    ),
    ("twins one each horn", (Conceptus(2, Arrangement.ONE_EACH_HORN),)),
    ("twins, same horn", (Conceptus(2, Arrangement.SAME_HORN),)),
    ("good heartbeat", (Viability(heartbeat=True),)),
    ("twin two no heartbeat", (Viability(heartbeat=False, fetus=2),)),
    ("membranes detached", (Viability(membranes=Membranes.DETACHED),)),
    (
        "placentomes, no ribs",
        (Landmark(LandmarkName.PLACENTOMES), Landmark(LandmarkName.RIBS, seen=False)),
    ),
    ("bull calf", (FetalSex(Sex.MALE),)),
    ("twin one heifer calf", (FetalSex(Sex.FEMALE, 1),)),
    ("one of each", (FetalSex(Sex.MALE, 1), FetalSex(Sex.FEMALE, 2))),
    ("can't sex", (FetalSex(Sex.UNDETERMINED),)),
    ("recheck in a fortnight", (Plan(PlanAction.RECHECK, in_days=14),)),
    ("recheck her in three weeks", (Plan(PlanAction.RECHECK, in_days=21),)),
    ("recheck on the tenth of March", (Plan(PlanAction.RECHECK, on_date=date(2027, 3, 10)),)),
    ("dry off December 20th", (Plan(PlanAction.DRY_OFF, on_date=date(2026, 12, 20)),)),
    (
        "device out in seven days",
        (Plan(PlanAction.TREAT, 7, treatment_class=TreatmentClass.DEVICE_REMOVAL),),
    ),
    ("give her PG", (Plan(PlanAction.TREAT, treatment_class=TreatmentClass.PROSTAGLANDIN),)),
    ("do not breed", (Plan(PlanAction.DO_NOT_BREED),)),
    ("served six weeks ago", (History(PastEvent.SERVED, 42),)),
    ("served on the second of October", (History(PastEvent.SERVED, on_date=date(2026, 10, 2)),)),
    ("sixty days in milk", (History(PastEvent.CALVED, 60),)),
    ("note kicked the gate, twice", (Note("kicked the gate twice"),)),
    ("lame", (Note("lame"),)),
]


@pytest.mark.parametrize(("phrase", "findings"), PHRASES, ids=[p for p, _ in PHRASES])
def test_a_phrase_becomes_its_findings_in_one_reading(
    phrase: str, findings: tuple[Finding, ...]
) -> None:
    reading = parse(phrase, VISIT)
    assert reading.unread is None
    assert reading.findings == findings
    assert reading.others == ()


COMMANDS: list[tuple[str, Command]] = [
    ("scratch that", Command(CommandName.SCRATCH)),
    ("read back", Command(CommandName.READ_BACK)),
    ("right, next", Command(CommandName.NEXT_ANIMAL)),
    ("next cow eight thirty-eight", Command(CommandName.NEXT_ANIMAL, Animal(tag="838"))),
    ("next, tag 838", Command(CommandName.NEXT_ANIMAL, Animal(tag="838"))),
    (
        "next heifer 12",
        Command(CommandName.NEXT_ANIMAL, Animal(tag="12", animal_class=AnimalClass.HEIFER)),
    ),
    ("close", Command(CommandName.CLOSE)),
    ("end of visit", Command(CommandName.CLOSE_VISIT)),
    ("pause", Command(CommandName.PAUSE)),
    ("resume", Command(CommandName.RESUME)),
    ("what can I say", Command(CommandName.HELP)),
    ("take a note", Command(CommandName.NOTE)),
    ("make that twenty-four", Command(CommandName.CHANGE, number=24)),
    ("make that two point four centimetres", Command(CommandName.CHANGE, number=24)),
    ("no, right", Command(CommandName.CHANGE, side=Side.RIGHT)),
]


@pytest.mark.parametrize(("phrase", "command"), COMMANDS, ids=[p for p, _ in COMMANDS])
def test_a_command_is_read_as_a_command(phrase: str, command: Command) -> None:
    reading = parse(phrase)
    assert reading.command == command
    assert reading.findings == ()
    assert reading.others == ()


def test_a_command_and_findings_keep_their_order() -> None:
    first = parse("next cow 838, left ovary static")
    assert [type(s.what).__name__ for s in first.said] == ["Command", "Ovary"]
    last = parse("open, recheck in two weeks, next")
    assert [type(s.what).__name__ for s in last.said] == ["Pregnancy", "Plan", "Command"]


AMBIGUOUS = [
    "CL twenty-two follicles",
    "pregnant right CL twenty-two",
    "left CL twenty-two right",
    "left side not seen",
    "CL with a cavity twenty-two",
]


@pytest.mark.parametrize("phrase", AMBIGUOUS)
def test_words_that_can_mean_two_things_keep_both_readings(phrase: str) -> None:
    reading = parse(phrase)
    assert reading.others
    assert all(other != reading.said for other in reading.others)


def test_every_finding_points_at_its_words() -> None:
    reading = parse("Cow 12: left ovary CL 22, bull calf")
    assert [said.words for said in reading.said] == ["cow 12", "left ovary cl 22", "bull calf"]
    assert all(reading.normal[s.start : s.end] == s.words for s in reading.said)
