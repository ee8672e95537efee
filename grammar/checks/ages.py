"""Ages beside each other: stated, measured, by service, and by the structures seen."""

from __future__ import annotations

from collections.abc import Iterator

from grammar.ageing.curves import EARLY_ERROR, KROG
from grammar.ageing.estimate import days_text
from grammar.ageing.measured import by_other_rule
from grammar.ageing.stated import rounding_days, stated_span_days
from grammar.checks.rule import COMMON_PRACTICE, Family, Raised
from grammar.dating.ages import compare
from grammar.dating.days import service_day
from grammar.dating.services import ONE_CYCLE_DAYS, Candidate, service_text
from grammar.facts import ExamFacts
from grammar.findings import Measurement, Pregnancy
from grammar.wording import capital

RULES = Family("age", Pregnancy, Measurement)
PENN = "Univ. Pennsylvania New Bolton Center teaching page (crown-rump points)"
ERRORS = f"error: {EARLY_ERROR}; later {KROG}, with a named allowance for ultrasound"


def measured_numbers(facts: ExamFacts) -> tuple[int, ...]:
    """Numbers of the findings that are sizes of the conceptus."""
    return facts.numbers(Measurement)


def _other_rule(facts: ExamFacts) -> tuple[str, tuple[tuple[str, str], ...]]:
    """What the other published rule makes of the lengths, as a sentence and a figure."""
    days = by_other_rule([told.finding for told in facts.of(Measurement)])
    if days is None:
        return "", ()
    said = f"{days_text(days)} d"
    return f" Another published rule makes it {days_text(days)} days.", (("other rule", said),)


def _by_services(facts: ExamFacts) -> str:
    """What the services make of it, as a sentence; nothing where none is known."""
    candidates = facts.ages.fit.candidates
    if not candidates:
        return ""
    said = "; ".join(f"{service_text(c.service)} {_days_of(c)} days" for c in candidates)
    return f" By service: {said}."


def _days_of(service: Candidate) -> str:
    low, high = service.low_days, service.high_days
    return str(high) if low == high else f"{low} to {high}"


@RULES.query(f"{PENN}; {ERRORS}")
def age_stated_and_measured_differ(facts: ExamFacts) -> Iterator[Raised]:
    """The stated age is more than 2 standard errors from the age that the measurements give."""
    stated, measured = facts.ages.stated, facts.ages.measured.estimate
    if stated is not None and measured is not None and facts.ages.contradict:
        beside = compare(stated, measured)
        apart = days_text(abs(beside.difference_days))
        other, figure = _other_rule(facts)
        yield Raised(
            f"Age {stated.reason}, but {measured.reason} makes it {days_text(measured.days)} days "
            f"(within {days_text(measured.error_days)}): {apart} days apart.{other}"
            f"{_by_services(facts)} Check the measurement and the age.",
            (
                ("stated", f"{days_text(stated.days)} d"),
                ("measured", f"{days_text(measured.days)} ± {days_text(measured.error_days)} d"),
                ("apart", f"{apart} d"),
                ("standard errors", f"{abs(beside.standard_errors):.1f}"),
                ("measured by", measured.source),
                *figure,
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


@RULES.query(
    f"design rule: earlier service if older, later if one cycle younger; {PENN}; {ERRORS}; cycle: "
    "Remnant 2019, PhD, Univ. Nottingham"
)
def no_service_fits_the_age(facts: ExamFacts) -> Iterator[Raised]:
    """The age is more than 2 standard errors from every service known."""
    ages, fit = facts.ages, facts.ages.fit
    age = ages.measured.estimate or ages.stated
    if not facts.pregnant or age is None or fit.chosen is not None or not fit.candidates:
        return
    if ages.contradict:  # that is the same doubt, and its question names the services
        return
    nearest = fit.candidates[0]
    first, last = ONE_CYCLE_DAYS
    hint = "An earlier service may not be on the list."
    if nearest.difference_days > 0:
        hint = "A later service may not be on the list."
        if first <= nearest.difference_days <= last:
            hint = f"That is about one cycle ({first} to {last} days). {hint}"
        if ages.measured.estimate is not None:
            hint = f"{hint} Look again at the heartbeat and the size."
    by_service = _days_of(nearest)
    apart = days_text(abs(nearest.difference_days))
    other, figure = _other_rule(facts)
    counted = service_day(facts.on, age.days)
    made = "" if age is ages.stated else f" makes it {days_text(age.days)} days"
    yield Raised(
        f"{capital(age.reason)}{made} (within {days_text(age.error_days)}), so served about "
        f"{counted}; by the nearest service, "
        f"{service_text(nearest.service)}, it is {by_service} days: {apart} days off.{other} "
        f"{hint} Check age, tag and dates.",
        (
            ("age", f"{days_text(age.days)} ± {days_text(age.error_days)} d"),
            ("nearest service", service_text(nearest.service)),
            ("by service", f"{by_service} d"),
            ("apart", f"{apart} d"),
            ("standard errors", f"{abs(nearest.standard_errors):.1f}"),
            ("services", ", ".join(sorted(service_text(c.service) for c in fit.candidates))),
            *figure,
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
