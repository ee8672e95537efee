"""In calf or not, and how old: status, and ages stated, measured and by service."""

from __future__ import annotations

from collections.abc import Iterator
from math import hypot

from grammar.ageing.estimate import AgeEstimate, days_text
from grammar.checks.rule import COMMON_PRACTICE, Raised, Rule
from grammar.exam import Severity
from grammar.facts import ExamFacts

FAMILY = "pregnancy"


def pregnant_and_open(facts: ExamFacts) -> Iterator[Raised]:
    """Pregnant and open in one exam."""
    if facts.pregnant and facts.open:
        yield Raised(
            "Both pregnant and open are recorded of this animal. Say which it is.",
            (("status", "pregnant, open"),),
            facts.status_numbers,
        )


def stated_and_measured(facts: ExamFacts) -> Iterator[Raised]:
    """'Pregnant forty-five days, crown rump twenty-two' raises it, 'crown rump thirty' does not."""
    stated, measured = facts.ages.stated, facts.ages.measured.estimate
    if stated is None or measured is None:
        return
    difference = stated.days - measured.days
    # Both were read off the same picture: of the stated age only its rounding counts.
    error = hypot(stated.rounding_days / 2, measured.standard_error_days)
    if abs(difference) > 2 * error:
        yield Raised(
            f"Age {stated.reason}, but {measured.reason} makes it {days_text(measured.days)} days "
            f"(within {days_text(measured.error_days)}): {days_text(abs(difference))} days apart. "
            "Check the measurement and the age.",
            _apart(stated, measured, difference, error),
            facts.status_numbers + tuple(t.number for t in facts.measurements),
        )


def _apart(
    one: AgeEstimate, other: AgeEstimate, difference: float, error: float
) -> tuple[tuple[str, str], ...]:
    return (
        (one.age_from.value, f"{days_text(one.days)} d"),
        (other.age_from.value, f"{days_text(other.days)} ± {days_text(other.error_days)} d"),
        ("apart", f"{days_text(abs(difference))} d"),
        ("standard errors", f"{abs(difference) / error:.1f}"),
        (f"{other.age_from.value} by", other.source),
    )


RULES: tuple[Rule, ...] = (
    Rule(
        "pregnant_and_open",
        FAMILY,
        Severity.QUERY,
        "Both pregnant and open are recorded in one exam.",
        COMMON_PRACTICE,
        pregnant_and_open,
    ),
    Rule(
        "age_stated_and_measured_differ",
        FAMILY,
        Severity.QUERY,
        "The stated age is more than 2 standard errors from the age that the measurements give.",
        "Univ. Pennsylvania New Bolton Center teaching page (crown-rump points); error: spread of "
        "published early rules, 4 d; Adeyinka et al. 2013 after day 60",
        stated_and_measured,
    ),
)
