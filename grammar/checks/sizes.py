"""Structures and lengths seen, beside the age that is recorded."""

from __future__ import annotations

from collections.abc import Iterator
from math import inf

from grammar.ageing.curves import CURVES, KROG
from grammar.ageing.estimate import days_text, size_text
from grammar.ageing.landmarks import ALLOWANCE_DAYS, FIRST_SEEN, signs_seen
from grammar.ageing.measured import quantity_text
from grammar.checks.ages import ERRORS, PENN, measured_numbers
from grammar.checks.rule import COMMON_PRACTICE, Family, Raised
from grammar.facts import ExamFacts, Told
from grammar.findings import Landmark, Measurement, Quantity, Viability
from grammar.wording import spaced

RULES = Family("age", Measurement, Landmark, Viability)


@RULES.query(
    f"{PENN}; Somnuk & Kornmatitsuk 2017, Asian Pac J Reprod 6(4):186-190; Drost, Bovine "
    f"Reproduction visual guide; {ERRORS}"
)
def measurements_disagree(facts: ExamFacts) -> Iterator[Raised]:
    """Measurements of one fetus give ages more than 2 standard errors apart."""
    found = facts.ages.measured.outliers
    fetuses = {part.fetus for part in facts.ages.measured.parts} - {None}
    if not found or len(fetuses) > 1:
        return
    names = "; ".join(
        f"{o.estimate.reason} {days_text(o.estimate.days)} d "
        f"({o.standardised:+.1f} standard errors)"
        for o in found
    )
    yield Raised(
        f"The measurements do not give one age: {names}. Check the numbers.",
        tuple((o.estimate.reason, f"{days_text(o.estimate.days)} d") for o in found),
        measured_numbers(facts),
    )


@RULES.query(COMMON_PRACTICE)
def one_size_two_values(facts: ExamFacts) -> Iterator[Raised]:
    """Two values of one size of one fetus stand, more than 2 mm and a fifth apart."""
    if (facts.fetuses or 1) > 1 and all(t.finding.fetus is None for t in facts.of(Measurement)):
        return
    groups: dict[tuple[Quantity, int | None], list[Told[Measurement]]] = {}
    for told in facts.of(Measurement):
        groups.setdefault((told.finding.quantity, told.finding.fetus), []).append(told)
    for (quantity, _), group in groups.items():
        sizes = sorted(told.finding.size_mm for told in group)
        if sizes[-1] - sizes[0] > max(2.0, 0.2 * sizes[0]):
            yield Raised(
                f"Two values of {quantity_text(quantity)} stand, {size_text(sizes[0])} and "
                f"{size_text(sizes[-1])}. Say which it is.",
                ((quantity_text(quantity), f"{sizes[0]:g} and {sizes[-1]:g} mm"),),
                tuple(told.number for told in group),
            )


@RULES.note(
    "Adeyinka et al. 2013 (placentomes); Massey University thesis (femur); "
    "Somnuk & Kornmatitsuk 2017 (eye, trunk)"
)
def no_age_from_measurement(facts: ExamFacts) -> Iterator[Raised]:
    """A measurement gives no age: no published curve, or outside its range."""
    asked = {n for raised in length_and_age_do_not_fit(facts) for n in raised.findings}
    for refused in facts.ages.measured.refused:
        numbers = tuple(
            t.number
            for t in facts.of(Measurement)
            if t.finding.quantity is refused.quantity and t.finding.size_mm == refused.size_mm
        )
        if asked.intersection(numbers):
            continue
        yield Raised(
            f"No age from {quantity_text(refused.quantity)} {size_text(refused.size_mm)}: "
            f"{refused.reason}.",
            (("size", size_text(refused.size_mm)),),
            numbers,
        )


@RULES.query(
    "Curran, Pierson & Ginther 1986, J Am Vet Med Assoc 189:1289-1302 (ranges from memory; "
    "means agree with the Univ. Pennsylvania page)"
)
def landmark_before_its_day(facts: ExamFacts) -> Iterator[Raised]:
    """A structure is seen at an age before its earliest published first sight, less 3 days."""
    age = facts.ages.best
    if age is None:
        return
    room = age.rounding_days or age.error_days
    seen = [
        (t.number, spaced(t.finding.name), FIRST_SEEN[t.finding.name])
        for t in facts.of(Landmark)
        if t.finding.seen
    ]
    seen += [(t.number, *sign) for t in facts.of(Viability) for sign in signs_seen(t.finding)]
    for number, name, first in seen:
        if first.not_before is not None and age.days + room < first.not_before - ALLOWANCE_DAYS:
            yield Raised(
                f"{name.capitalize()} seen at {days_text(age.days)} days ({age.reason}), but first "
                f"seen at day {first.not_before} at the earliest in print. Check the age, or what "
                "was seen.",
                (
                    ("age", f"{days_text(age.days)} d"),
                    ("first seen", f"day {first.not_before}"),
                    ("allowance", f"{ALLOWANCE_DAYS} d"),
                    ("first seen by", first.source),
                ),
                (number,),
            )


@RULES.note("Curran, Pierson & Ginther 1986 (ranges from memory); Univ. Pennsylvania page")
def landmark_expected_by_now(facts: ExamFacts) -> Iterator[Raised]:
    """A structure is not seen at an age well past the day by which it is seen in print."""
    age = facts.ages.best
    if age is None:
        return
    for number, mark in facts.of(Landmark):
        first = FIRST_SEEN[mark.name]
        if mark.seen or first.expected_by is None:
            continue
        if age.days - age.error_days > first.expected_by + ALLOWANCE_DAYS:
            name = spaced(mark.name)
            yield Raised(
                f"{name.capitalize()} not seen at {days_text(age.days)} days ({age.reason}); in "
                f"print they are seen by day {first.expected_by}. It may be the view.",
                (
                    ("age", f"{days_text(age.days)} d"),
                    ("seen by", f"day {first.expected_by}"),
                    ("seen by, source", first.source),
                ),
                (number,),
            )


@RULES.query(f"{PENN}; {KROG}; Somnuk & Kornmatitsuk 2017; Drost; {ERRORS}")
def length_and_age_do_not_fit(facts: ExamFacts) -> Iterator[Raised]:
    """A size past the end of every curve, at an age which that end excludes."""
    age = facts.ages.stated or facts.ages.service
    if age is None:
        return
    room = age.rounding_days or age.error_days
    for number, measurement in facts.of(Measurement):
        low, high = _ages_past_curves(measurement)
        if measurement.size_mm > 0 and not low - room <= age.days <= high + room:
            name = f"{quantity_text(measurement.quantity)} of {size_text(measurement.size_mm)}"
            span = f"under {days_text(high)} d" if low == 0 else f"over {days_text(low)} d"
            yield Raised(
                f"Age {days_text(age.days)} days ({age.reason}), but a {name} lies past the end of "
                f"the published curves and is of {span[:-1]}days. Check the size and the age.",
                (("age", f"{days_text(age.days)} d"), ("size", name), ("by its size", span)),
                (*facts.status_numbers, number),
            )


# Twice the last size of a curve, or half the first: common practice, no source.
FAR_PAST = 2


def _ages_past_curves(measurement: Measurement) -> tuple[float, float]:
    """Least and greatest age, errors included, of a size outside the curves; 0 and inf else."""
    curves = [curve for curve in CURVES if curve.quantity is measurement.quantity]
    if not curves:
        return 0.0, inf
    smallest = min(curves, key=lambda curve: curve.low_mm)
    largest = max(curves, key=lambda curve: curve.high_mm)
    # The error is allowed for at the end of a curve, and not where the size is far past it.
    if measurement.size_mm < smallest.low_mm:
        days = smallest.age_days(smallest.low_mm)
        near = measurement.size_mm * FAR_PAST > smallest.low_mm
        return 0.0, days + near * smallest.error_days(days)
    if measurement.size_mm > largest.high_mm:
        days = largest.age_days(largest.high_mm)
        near = measurement.size_mm < largest.high_mm * FAR_PAST
        return days - near * largest.error_days(days), inf
    return 0.0, inf
