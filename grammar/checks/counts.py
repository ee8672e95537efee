"""Numbers that no cow has: ages, counts, scores and days outside what is published or practised."""

from __future__ import annotations

from collections.abc import Iterator

from grammar.checks.outside import outside
from grammar.checks.rule import COMMON_PRACTICE, Raised, Rule
from grammar.exam import Severity
from grammar.facts import ExamFacts
from grammar.findings import Conceptus, Condition, History, Plan, Pregnancy
from grammar.plausible import DAYS_AGO, PREGNANCY_DAYS, SCALES

FAMILY = "ranges"


def stated_age_range(facts: ExamFacts) -> Iterator[Raised]:
    """'Pregnant three hundred and forty days' raises it, 'forty-five days' does not."""
    for number, _, days, limits in outside(facts, Pregnancy):
        span = f"{limits.low:g} to {limits.high:g}"
        yield Raised(
            f"An age of {days:g} days is outside {span} days of a live pregnancy seen. Check the "
            "number and whether days, weeks or months were meant.",
            (("age", f"{days:g} d"), ("range", f"{span} d")),
            (number,),
        )


def stated_age_span(facts: ExamFacts) -> Iterator[Raised]:
    """'Forty-five to forty days' raises it."""
    for number, pregnancy in facts.of(Pregnancy):
        first, last = pregnancy.age_days, pregnancy.age_to_days
        if first is not None and last is not None and last < first:
            yield Raised(
                f"An age of {first} to {last} days runs backwards. Check both numbers.",
                (("from", f"{first} d"), ("to", f"{last} d")),
                (number,),
            )


def fetus_count(facts: ExamFacts) -> Iterator[Raised]:
    """None at all, or more than three."""
    for number, _, count, _ in outside(facts, Conceptus):
        yield Raised(
            f"{count:g} fetuses are recorded; check the number.",
            (("fetuses", f"{count:g}"),),
            (number,),
        )


def condition_score(facts: ExamFacts) -> Iterator[Raised]:
    """A score outside its scale, or an unknown scale."""
    for number, _, score, limits in outside(facts, Condition):
        scale = f"{limits.low:g} to {limits.high:g}"
        yield Raised(
            f"A condition score of {score:g} is outside {scale}. Check the number and the scale.",
            (("score", f"{score:g}"), ("scale", scale)),
            (number,),
        )


def condition_scale(facts: ExamFacts) -> Iterator[Raised]:
    """A score above 5 with no scale said: it may be of 8, 9 or 10."""
    for number, condition in facts.of(Condition):
        if condition.scale is None and 5 < condition.score <= 10:
            yield Raised(
                f"A condition score of {condition.score:g} was said without its scale; scores are "
                "kept with their scale and not converted.",
                (("score", f"{condition.score:g}"),),
                (number,),
            )


def days_ahead(facts: ExamFacts) -> Iterator[Raised]:
    """A plan more than 300 days ahead, or an event more than ten years ago or still to come."""
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


RULES: tuple[Rule, ...] = (
    Rule(
        "age_outside_pregnancy",
        FAMILY,
        Severity.QUERY,
        "A stated age is below 19 or above 300 days.",
        PREGNANCY_DAYS.source,
        stated_age_range,
    ),
    Rule(
        "age_runs_backwards",
        FAMILY,
        Severity.QUERY,
        "A spoken range of ages ends before it begins.",
        "arithmetic",
        stated_age_span,
    ),
    Rule(
        "number_of_fetuses",
        FAMILY,
        Severity.QUERY,
        "No fetus, or more than three, are recorded.",
        COMMON_PRACTICE,
        fetus_count,
    ),
    Rule(
        "score_outside_scale",
        FAMILY,
        Severity.QUERY,
        "A condition score is outside its scale.",
        SCALES,
        condition_score,
    ),
    Rule(
        "score_without_scale",
        FAMILY,
        Severity.NOTE,
        "A condition score above 5 was said without its scale.",
        "Roche et al. 2004, J Dairy Sci 87:3076-3079 (scales of 5, 8 and 10)",
        condition_scale,
    ),
    Rule(
        "days_beyond_reason",
        FAMILY,
        Severity.QUERY,
        "A plan lies more than 300 days ahead, or a past event in the future or ten years back.",
        COMMON_PRACTICE,
        days_ahead,
    ),
)
