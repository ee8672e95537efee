"""Numbers that no cow has: ages, counts, scores and days outside what is published or practised."""

from __future__ import annotations

from collections.abc import Iterator

from grammar.checks.outside import outside
from grammar.checks.rule import COMMON_PRACTICE, Family, Raised
from grammar.facts import ExamFacts
from grammar.findings import Conceptus, Condition, History, Plan, Pregnancy
from grammar.plausible import DAYS_AGO, PREGNANCY_DAYS, SCALES

RULES = Family("ranges")


@RULES.query(PREGNANCY_DAYS.source)
def age_outside_pregnancy(facts: ExamFacts) -> Iterator[Raised]:
    """A stated age is below 19 or above 300 days."""
    for number, _, days, limits in outside(facts, Pregnancy):
        span = f"{limits.low:g} to {limits.high:g}"
        yield Raised(
            f"An age of {days:g} days is outside {span} days of a live pregnancy seen. Check the "
            "number and whether days, weeks or months were meant.",
            (("age", f"{days:g} d"), ("range", f"{span} d")),
            (number,),
        )


@RULES.query("arithmetic")
def age_runs_backwards(facts: ExamFacts) -> Iterator[Raised]:
    """A spoken range of ages ends before it begins."""
    for number, pregnancy in facts.of(Pregnancy):
        first, last = pregnancy.age_days, pregnancy.age_to_days
        if first is not None and last is not None and last < first:
            yield Raised(
                f"An age of {first} to {last} days runs backwards. Check both numbers.",
                (("from", f"{first} d"), ("to", f"{last} d")),
                (number,),
            )


@RULES.query(COMMON_PRACTICE)
def number_of_fetuses(facts: ExamFacts) -> Iterator[Raised]:
    """No fetus, or more than three, are recorded."""
    for number, _, count, _ in outside(facts, Conceptus):
        yield Raised(
            f"{count:g} fetuses are recorded; check the number.",
            (("fetuses", f"{count:g}"),),
            (number,),
        )


@RULES.query(SCALES)
def score_outside_scale(facts: ExamFacts) -> Iterator[Raised]:
    """A condition score is outside its scale."""
    for number, _, score, limits in outside(facts, Condition):
        scale = f"{limits.low:g} to {limits.high:g}"
        yield Raised(
            f"A condition score of {score:g} is outside {scale}. Check the number and the scale.",
            (("score", f"{score:g}"), ("scale", scale)),
            (number,),
        )


@RULES.note("Roche et al. 2004, J Dairy Sci 87:3076-3079 (scales of 5, 8 and 10)")
def score_without_scale(facts: ExamFacts) -> Iterator[Raised]:
    """A condition score above 5 was said without its scale."""
    for number, condition in facts.of(Condition):
        if condition.scale is None and 5 < condition.score <= 10:
            yield Raised(
                f"A condition score of {condition.score:g} was said without its scale; scores are "
                "kept with their scale and not converted.",
                (("score", f"{condition.score:g}"),),
                (number,),
            )


@RULES.query(COMMON_PRACTICE)
def days_beyond_reason(facts: ExamFacts) -> Iterator[Raised]:
    """A plan lies more than 300 days ahead, or a past event in the future or ten years back."""
    for number, _, days, _ in outside(facts, Plan):
        yield Raised(
            f"A plan in {days:g} days is further off than a whole pregnancy. Check the number.",
            (("in", f"{days:g} d"),),
            (number,),
        )
    for number, history in facts.of(History):
        ago = history.days_ago
        if history.on_date is not None:
            ago = (facts.on - history.on_date).days
        if ago is not None and not DAYS_AGO.holds(ago):
            yield Raised(
                f"An event {history.event} {ago} days ago cannot be. Check the number.",
                (("ago", f"{ago} d"),),
                (number,),
            )
