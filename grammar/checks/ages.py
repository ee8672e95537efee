"""Ages beside each other: stated, measured, by service, and by the structures seen."""

from __future__ import annotations

from collections.abc import Iterator

from grammar.ageing.estimate import AgeEstimate, days_text
from grammar.ageing.stated import rounding_days, stated_span_days
from grammar.checks.rule import COMMON_PRACTICE, Family, Raised
from grammar.dating.ages import compare
from grammar.dating.services import ONE_CYCLE_DAYS, service_text
from grammar.facts import ExamFacts
from grammar.findings import Measurement, Pregnancy

RULES = Family("age")
PENN = "Univ. Pennsylvania New Bolton Center teaching page (crown-rump points)"
ERRORS = (
    "error: spread of the published early rules, 4 d; after day 60 Adeyinka et al. 2013, about 16 d"
)


def measured_numbers(facts: ExamFacts) -> tuple[int, ...]:
    """Numbers of the findings that are sizes of the conceptus."""
    return facts.numbers(Measurement)


@RULES.query(f"{PENN}; {ERRORS}")
def age_stated_and_measured_differ(facts: ExamFacts) -> Iterator[Raised]:
    """The stated age is more than 2 standard errors from the age that the measurements give."""
    stated, measured = facts.ages.stated, facts.ages.measured.estimate
    if stated is not None and measured is not None and facts.ages.contradict:
        beside = compare(stated, measured)
        apart = days_text(abs(beside.difference_days))
        yield Raised(
            f"Age {stated.reason}, but {measured.reason} makes it {days_text(measured.days)} days "
            f"(within {days_text(measured.error_days)}): {apart} days apart. "
            "Check the measurement and the age.",
            (
                ("stated", f"{days_text(stated.days)} d"),
                ("measured", f"{days_text(measured.days)} ± {days_text(measured.error_days)} d"),
                ("apart", f"{apart} d"),
                ("standard errors", f"{abs(beside.standard_errors):.1f}"),
                ("measured by", measured.source),
            ),
            facts.status_numbers + measured_numbers(facts),
        )


@RULES.query(COMMON_PRACTICE)
def age_stated_two_ways(facts: ExamFacts) -> Iterator[Raised]:
    """Two stated ages stand that their rounding does not join."""
    spans = [
        (span, rounding_days(pregnancy))
        for _, pregnancy in facts.of(Pregnancy)
        if (span := stated_span_days(pregnancy)) is not None
    ]
    if not spans:
        return
    if max(low - room for (low, _), room in spans) > min(high + room for (_, high), room in spans):
        low, high = min(low for (low, _), _ in spans), max(high for (_, high), _ in spans)
        yield Raised(
            f"Two ages are recorded, {days_text(low)} and {days_text(high)} days. Say which it is.",
            (("ages", f"{days_text(low)} and {days_text(high)} d"),),
            facts.status_numbers,
        )


def _scan_age(facts: ExamFacts) -> AgeEstimate | None:
    return facts.ages.measured.estimate or facts.ages.stated


@RULES.query(
    f"design rule: earlier service if older, later if one cycle younger; {ERRORS}; cycle: "
    "Remnant 2019, PhD, Univ. Nottingham"
)
def no_service_fits_the_age(facts: ExamFacts) -> Iterator[Raised]:
    """The age is more than 2 standard errors from every service known."""
    age, fit = _scan_age(facts), facts.ages.fit
    if not facts.pregnant or age is None or fit.chosen is not None or not fit.candidates:
        return
    nearest = fit.candidates[0]
    behind = nearest.difference_days > 0
    if behind and facts.ages.measured.estimate is not None:
        return
    first, last = ONE_CYCLE_DAYS
    hint = "An earlier service may not be on the list."
    if behind:
        hint = "A later service may not be on the list."
        if first <= nearest.difference_days <= last:
            hint = f"That is about one cycle ({first} to {last} days). {hint}"
    apart = days_text(abs(nearest.difference_days))
    yield Raised(
        f"An age of {days_text(age.days)} days ({age.reason}) fits no service known: the nearest, "
        f"{service_text(nearest.service)}, is {apart} days off. {hint} Check age, tag and dates.",
        (
            ("age", f"{days_text(age.days)} ± {days_text(age.error_days)} d"),
            ("nearest service", service_text(nearest.service)),
            ("apart", f"{apart} d"),
            ("standard errors", f"{abs(nearest.standard_errors):.1f}"),
            ("services", ", ".join(sorted(service_text(c.service) for c in fit.candidates))),
        ),
        facts.status_numbers + measured_numbers(facts),
    )


@RULES.query(f"{PENN}; {ERRORS}; cycle: Remnant 2019, PhD, Univ. Nottingham")
def size_behind_service(facts: ExamFacts) -> Iterator[Raised]:
    """The measured age is behind the nearest service by more than 2 standard errors."""
    measured, fit = facts.ages.measured.estimate, facts.ages.fit
    if not facts.pregnant or measured is None or fit.chosen is not None or not fit.candidates:
        return
    nearest = fit.candidates[0]
    if nearest.difference_days <= 0:
        return
    first, last = ONE_CYCLE_DAYS
    cycle = ""
    if first <= nearest.difference_days <= last:
        cycle = f", about one cycle ({first} to {last} days): perhaps a later service is missing"
    yield Raised(
        f"{measured.reason.capitalize()} makes it {days_text(measured.days)} days, "
        f"{days_text(nearest.difference_days)} days behind the service of "
        f"{service_text(nearest.service)}{cycle}. Look again at the heartbeat and the size, and "
        "check the service date.",
        (
            ("measured", f"{days_text(measured.days)} ± {days_text(measured.error_days)} d"),
            ("service", service_text(nearest.service)),
            ("behind", f"{days_text(nearest.difference_days)} d"),
            ("standard errors", f"{nearest.standard_errors:.1f}"),
        ),
        facts.status_numbers + measured_numbers(facts),
    )


@RULES.note("arithmetic")
def two_services_fit(facts: ExamFacts) -> Iterator[Raised]:
    """More than one service fits the age."""
    fit = facts.ages.fit
    if not facts.pregnant or fit.chosen is None:
        return
    chosen = fit.chosen
    others = [c for c in fit.also if abs(c.low_days - chosen.low_days) > 1]
    if others:
        names = ", ".join(service_text(c.service) for c in others)
        yield Raised(
            f"The age fits the service of {service_text(chosen.service)} best, and {names} as "
            "well. Check which one held.",
            (("nearest", service_text(chosen.service)), ("also fits", names)),
            facts.status_numbers,
        )
