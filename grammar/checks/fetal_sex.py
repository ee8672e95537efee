"""Fetal sex: called when it can be seen, and once for each fetus."""

from __future__ import annotations

from collections.abc import Iterator

from grammar.ageing.estimate import days_text
from grammar.checks.pregnancy import called
from grammar.checks.rule import Family, Raised
from grammar.facts import ExamFacts
from grammar.findings import FetalSex, Sex

RULES = Family("fetal sex", FetalSex)
# 68 cows: failed in small fetuses before day 52; 15 cows: none possible at days 161 to 168.
NOT_BEFORE_DAYS = 52
NOT_AFTER_DAYS = 160
_WINDOW_SOURCE = (
    "ultrasonic fetal sexing by the genital tubercle (68 cows, abstract): failed before day 52, "
    "56-80; effect of gestational age on fetal gender determination (15 dairy cows, abstract; Ali "
    "2004 from memory): 100 % on days 56-98, 0 % on days 161-168"
)


def sexes_of(facts: ExamFacts) -> dict[int | None, set[Sex]]:
    """The sexes called, by the number of the fetus; None where none was named."""
    sexes: dict[int | None, set[Sex]] = {}
    for _, sex in facts.of(FetalSex):
        if called(sex):
            sexes.setdefault(sex.fetus, set()).add(sex.sex)
    return sexes


@RULES.query(_WINDOW_SOURCE)
def sex_cannot_be_seen(facts: ExamFacts) -> Iterator[Raised]:
    """Fetal sex is called before day 52 or after day 160."""
    numbers, age = facts.numbers(FetalSex, called), facts.ages.best
    if numbers and age is not None and not NOT_BEFORE_DAYS <= age.days <= NOT_AFTER_DAYS:
        early = age.days < NOT_BEFORE_DAYS
        when = f"before day {NOT_BEFORE_DAYS}" if early else f"after day {NOT_AFTER_DAYS}"
        yield Raised(
            f"Fetal sex is called at {days_text(age.days)} days ({age.reason}), {when}, where "
            "published studies could not see it. Check the age, or leave the sex out.",
            (
                ("age", f"{days_text(age.days)} d"),
                ("age from", age.age_from.value),
                ("possible", f"{NOT_BEFORE_DAYS} to {NOT_AFTER_DAYS} d"),
            ),
            numbers,
        )


@RULES.note(_WINDOW_SOURCE + "; 58-70 by another service (UC Davis, 2015)")
def sex_outside_window(facts: ExamFacts) -> Iterator[Raised]:
    """Fetal sex is called outside the window of the settings (56 to 98 days unless changed)."""
    numbers, age, settings = facts.numbers(FetalSex, called), facts.ages.best, facts.exam.settings
    if not numbers or age is None or not NOT_BEFORE_DAYS <= age.days <= NOT_AFTER_DAYS:
        return
    if not settings.sexing_from_day <= age.days <= settings.sexing_to_day:
        window = f"{settings.sexing_from_day} to {settings.sexing_to_day} d"
        yield Raised(
            f"Fetal sex is called at {days_text(age.days)} days ({age.reason}), outside the window "
            f"of {window} in which it is called well.",
            (
                ("age", f"{days_text(age.days)} d"),
                ("age from", age.age_from.value),
                ("window", window),
            ),
            numbers,
        )


@RULES.query("arithmetic")
def sex_said_two_ways(facts: ExamFacts) -> Iterator[Raised]:
    """Both male and female are recorded of one fetus."""
    single = facts.fetuses == 1 or (facts.fetuses is None and not _several_numbered(facts))
    for fetus, sexes in sorted(sexes_of(facts).items(), key=lambda pair: pair[0] or 0):
        if len(sexes) > 1 and (fetus is not None or single):
            which = "one fetus" if fetus is None else f"fetus {fetus}"
            yield Raised(
                f"Both male and female are recorded of {which}. Check which was meant, "
                "and how many fetuses there are.",
                (("sexes", ", ".join(sorted(sexes))),),
                facts.numbers(FetalSex, called),
            )


def _several_numbered(facts: ExamFacts) -> bool:
    return len({t.finding.fetus for t in facts.of(FetalSex) if t.finding.fetus is not None}) > 1
