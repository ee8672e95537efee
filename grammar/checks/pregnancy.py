"""In calf or not: what is said of it, and whether it could be seen."""

from __future__ import annotations

from collections.abc import Iterator

from grammar.ageing.estimate import days_text
from grammar.checks.rule import COMMON_PRACTICE, Family, Raised
from grammar.dating.calving import (
    ROMANO,
    SEEN_FROM_COW,
    SEEN_FROM_HEIFER,
    SURE_FROM_COW,
    SURE_FROM_HEIFER,
)
from grammar.dating.days import age_on
from grammar.dating.services import service_text
from grammar.facts import ExamFacts, once
from grammar.findings import (
    Conceptus,
    FetalSex,
    Landmark,
    Measurement,
    Note,
    Plan,
    Pregnancy,
    PregnancyStatus,
    Sex,
    TreatmentClass,
    Viability,
)

RULES = Family("pregnancy", Pregnancy, Conceptus, Viability, Landmark, Measurement, FetalSex)
SERVICE_SOURCE = "Penn State extension text (30-40 days before service)"
SERVICE_SOONEST_DAYS = 30
# Even at the edge of its error: nothing so soon is a pregnancy of this cycle.
CONCEIVED_SOONEST_DAYS = 20


@once
def signs(facts: ExamFacts) -> tuple[int, ...]:
    """Numbers of findings that only a pregnancy gives: a fetus, its parts, signs of life."""
    return (
        *facts.numbers(Conceptus, lambda conceptus: conceptus.count > 0),
        *facts.numbers(Viability, lives),
        *facts.numbers(Landmark, lambda mark: mark.seen),
        *facts.numbers(Measurement),
        *facts.numbers(FetalSex, called),
    )


def lives(sign: Viability) -> bool | None:
    """Whether it is a sign of life."""
    return sign.heartbeat or sign.movement


def called(sex: FetalSex) -> bool:
    """Whether the sex was told."""
    return sex.sex is not Sex.UNDETERMINED


def loss_numbers(facts: ExamFacts) -> tuple[int, ...]:
    """Numbers of findings that say that a pregnancy was lost."""
    return facts.numbers(Viability, lambda sign: sign.loss)


def days_since_service(facts: ExamFacts) -> int | None:
    """Days since the last service, or since the bull came out; 0 where he is still there."""
    last = facts.last_service
    return None if last is None else age_on(last.until(facts.on), facts.on)


def first_days(facts: ExamFacts) -> tuple[int, int]:
    """From which day a pregnancy may be seen, and is surely seen, in a cow or a heifer."""
    cow, heifer = (SEEN_FROM_COW, SURE_FROM_COW), (SEEN_FROM_HEIFER, SURE_FROM_HEIFER)
    return heifer if facts.heifer else cow


@RULES.query(COMMON_PRACTICE)
def pregnant_and_open(facts: ExamFacts) -> Iterator[Raised]:
    """Both pregnant and open are recorded in one exam."""
    if facts.pregnant and facts.open:
        yield Raised(
            "Both pregnant and open are recorded of this animal. Say which it is.",
            (("status", "pregnant, open"),),
            facts.status_numbers,
        )


@RULES.query(COMMON_PRACTICE)
def uncertain_and_sure(facts: ExamFacts) -> Iterator[Raised]:
    """Uncertain is recorded beside pregnant or open."""
    if PregnancyStatus.UNCERTAIN in facts.statuses and len(facts.statuses) > 1:
        both = ", ".join(sorted(facts.statuses))
        why = f"Recorded as {both}. Say which it is."
        yield Raised(why, (("status", both),), facts.status_numbers)


@RULES.query(COMMON_PRACTICE)
def open_with_signs_of_pregnancy(facts: ExamFacts) -> Iterator[Raised]:
    """Open is recorded with a fetus, its measurements or signs of life, and no loss."""
    found = signs(facts) if facts.open else ()
    if found and not loss_numbers(facts):
        yield Raised(
            "Recorded open, with findings that only a pregnancy gives. Say which it is, or that "
            "the pregnancy is lost.",
            (("findings of pregnancy", str(len(found))),),
            facts.status_numbers + found,
        )


@RULES.query(COMMON_PRACTICE)
def status_not_said(facts: ExamFacts) -> Iterator[Raised]:
    """An exam closes with findings of a pregnancy and without a status."""
    found = () if facts.statuses else signs(facts)
    if facts.exam.closed and found:
        yield Raised(
            "Findings of a pregnancy are recorded, but not whether she is pregnant. Say it.",
            (("findings of pregnancy", str(len(found))),),
            found,
        )


@RULES.note(COMMON_PRACTICE)
def status_taken_from_age(facts: ExamFacts) -> Iterator[Raised]:
    """Pregnant was not said; it was taken from an age."""
    told = facts.of(Pregnancy)
    if told and all(t.finding.status_assumed for t in told):
        yield Raised(
            "Only an age was said, and pregnant was taken from it.",
            (("status", "taken from the age"),),
            facts.status_numbers,
        )


@RULES.query(
    "Romano et al. 2006, Theriogenology (series began at day 24 in cows, day 21 in heifers); "
    "fluid from day 22: Fissore et al. 1986, Anim Reprod Sci 12:167-177"
)
def pregnant_before_it_can_be_seen(facts: ExamFacts) -> Iterator[Raised]:
    """Pregnant before day 24 in a cow or day 21 in a heifer."""
    age = facts.ages.best
    first, _ = first_days(facts)
    if facts.pregnant and age is not None and age.days < first:
        yield Raised(
            f"Pregnant at {days_text(age.days)} days ({age.reason}), before day {first}, the first "
            "day of the published series. Check the age and the service date.",
            (("age", f"{days_text(age.days)} d"), ("first day", str(first))),
            facts.status_numbers,
        )


@RULES.note(f"{ROMANO}; losses after: JDS Communications 2023 4:144-148 (13 % on days 30-45)")
def pregnant_early(facts: ExamFacts) -> Iterator[Raised]:
    """Pregnant before day 29 in a cow or day 26 in a heifer."""
    age = facts.ages.best
    first, sure = first_days(facts)
    if facts.pregnant and age is not None and first <= age.days < sure:
        yield Raised(
            f"Pregnant at {days_text(age.days)} days ({age.reason}): so early that a second look "
            "is usual.",
            (("age", f"{days_text(age.days)} d"), ("sure from", f"day {sure}")),
            facts.status_numbers,
        )


@RULES.note(ROMANO)
def open_too_early(facts: ExamFacts) -> Iterator[Raised]:
    """Open before day 29 after service in a cow or day 26 in a heifer."""
    if not facts.open:
        return
    last, days = facts.last_service, days_since_service(facts)
    _, sure = first_days(facts)
    treated = facts.numbers(Plan, lambda p: p.treatment_class is TreatmentClass.PROSTAGLANDIN)
    # With a luteolytic it is a question of its own; beside the bull it would be said of every cow.
    asked = bool(treated) or facts.bull_with_her
    if last is not None and days is not None and days < sure and not asked:
        yield Raised(
            f"Open {days} days after the service of {service_text(last)}: before day {sure} "
            "ultrasound misses some pregnancies. A second look is usual.",
            (("days after service", str(days)), ("sure from", f"day {sure}")),
            facts.status_numbers,
        )


_HEAT = frozenset(
    {"bulling", "on heat", "in heat", "standing heat", "coming on heat", "coming bulling"}
    | {"in standing heat", "in season", "on heat today", "on heat now", "bulling today"}
    | {"bulling this morning"}
)


@RULES.note("oestrus during pregnancy, one farm (abstract): 5.7 %, most at days 121 to 240")
def heat_in_pregnancy(facts: ExamFacts) -> Iterator[Raised]:
    """Heat is remarked of an animal recorded pregnant."""
    seen = facts.numbers(Note, lambda note: note.text in _HEAT)
    if facts.pregnant and seen:
        why = "Pregnant, and in heat as recorded: it is seen in about one pregnancy in twenty."
        yield Raised(why, (), (*facts.status_numbers, *seen))


@RULES.query("arithmetic")
def conceived_before_calving(facts: ExamFacts) -> Iterator[Raised]:
    """The age is greater than the days since calving, by more than its error."""
    age, calved = facts.ages.best, facts.days_calved
    if not facts.pregnant or age is None or calved is None:
        return
    if age.days - age.error_days > calved:
        yield Raised(
            f"An age of {days_text(age.days)} days ({age.reason}) puts conception before her "
            f"last calving, {calved} days ago. Check the age, the tag and the calving date.",
            (("age", f"{days_text(age.days)} d"), ("calved", f"{calved} d ago")),
            facts.status_numbers,
        )


def _days_conceived_after_calving(facts: ExamFacts) -> tuple[float, float] | None:
    """Days from calving to conception and their error; None where it is not known or before."""
    age, calved = facts.ages.best, facts.days_calved
    if not facts.pregnant or age is None or calved is None:
        return None
    after = calved - age.days
    return None if after < -age.error_days else (after, age.error_days)


@RULES.query(SERVICE_SOURCE)
def conceived_just_after_calving(facts: ExamFacts) -> Iterator[Raised]:
    """The age puts conception within 20 days of calving, whatever its error."""
    found = _days_conceived_after_calving(facts)
    if found is not None and sum(found) < CONCEIVED_SOONEST_DAYS:
        yield _soon_after_calving(facts, found[0], "Check the age, the tag and the calving date.")


@RULES.note(SERVICE_SOURCE)
def conceived_soon_after_calving(facts: ExamFacts) -> Iterator[Raised]:
    """The age puts conception within 30 days after calving."""
    found = _days_conceived_after_calving(facts)
    if found is None or sum(found) < CONCEIVED_SOONEST_DAYS:
        return
    if found[0] < SERVICE_SOONEST_DAYS:
        yield _soon_after_calving(facts, found[0], "It may be so.")


def _soon_after_calving(facts: ExamFacts, after: float, then: str) -> Raised:
    age, calved = facts.ages.best, facts.days_calved
    assert age is not None
    return Raised(
        f"An age of {days_text(age.days)} days ({age.reason}) puts conception at about "
        f"{days_text(max(after, 0.0))} days after calving, before the uterus is usually ready. "
        f"{then}",
        (("age", f"{days_text(age.days)} d"), ("calved", f"{calved} d ago")),
        facts.status_numbers,
    )
