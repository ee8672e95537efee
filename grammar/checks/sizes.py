"""Structures and lengths seen, beside the age that is recorded."""

from __future__ import annotations

from collections.abc import Iterator

from grammar.ageing.curves import SIZE_BANDS_SOURCE, late_error_days, size_band_mm
from grammar.ageing.estimate import days_text, size_text
from grammar.ageing.landmarks import ALLOWANCE_DAYS, FIRST_SEEN, signs_seen
from grammar.ageing.measured import quantity_text
from grammar.checks.ages import ERRORS, PENN, measured_numbers
from grammar.checks.rule import COMMON_PRACTICE, Family, Raised
from grammar.facts import ExamFacts, Told
from grammar.findings import Landmark, Measurement, Quantity, Viability
from grammar.wording import spaced

RULES = Family("age")


@RULES.query(
    f"{PENN}; Somnuk & Kornmatitsuk 2017, Asian Pac J Reprod 6(4):186-190; Drost, Bovine "
    f"Reproduction visual guide; {ERRORS}"
)
def measurements_disagree(facts: ExamFacts) -> Iterator[Raised]:
    """Measurements of one fetus give ages more than 2 standard errors apart."""
    found = facts.ages.measured.outliers
    fetuses = {part.fetus for part in facts.ages.measured.parts}
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
    "Adeyinka et al. 2013 (placentomes); Massey University thesis (head width, femur); "
    "Somnuk & Kornmatitsuk 2017 (eye, trunk)"
)
def no_age_from_measurement(facts: ExamFacts) -> Iterator[Raised]:
    """A measurement gives no age: no published curve, or outside its range."""
    for refused in facts.ages.measured.refused:
        yield Raised(
            f"No age from {quantity_text(refused.quantity)} {size_text(refused.size_mm)}: "
            f"{refused.reason}.",
            (("size", size_text(refused.size_mm)),),
            tuple(
                t.number
                for t in facts.of(Measurement)
                if t.finding.quantity is refused.quantity and t.finding.size_mm == refused.size_mm
            ),
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


@RULES.query(f"{PENN}; rule 2.5 x (cm + 21) from memory; {ERRORS}")
def length_and_age_do_not_fit(facts: ExamFacts) -> Iterator[Raised]:
    """A crown-rump length that no curve ages, at an age which its neighbours exclude."""
    stated = facts.ages.stated
    if stated is None:
        return
    for number, measurement in facts.of(Measurement):
        limits = _ages_between_curves(measurement)
        if limits is None or measurement.size_mm <= 0:
            continue
        low, high = limits
        if not low - stated.rounding_days <= stated.days <= high + stated.rounding_days:
            span = f"{days_text(low)} to {days_text(high)} d"
            yield Raised(
                f"Age {stated.reason}, but a crown-rump length of {size_text(measurement.size_mm)} "
                f"lies between the published curves at {span}. Check the length and the age.",
                (
                    ("stated", f"{days_text(stated.days)} d"),
                    ("length", size_text(measurement.size_mm)),
                    ("between the curves", span),
                ),
                (*facts.status_numbers, number),
            )


def _ages_between_curves(measurement: Measurement) -> tuple[float, float] | None:
    """Ages, errors included, that border a length outside the curves; None where one ages it."""
    if measurement.quantity is not Quantity.CROWN_RUMP_LENGTH:
        return None
    if measurement.size_mm < 5:
        return (0.0, 25.0 + 4.0)
    if 60 < measurement.size_mm < 80:
        return (60.0 - 4.0, 72.5 + late_error_days(72.5))
    return None


@RULES.note(SIZE_BANDS_SOURCE)
def length_outside_size_class(facts: ExamFacts) -> Iterator[Raised]:
    """A crown-rump length is outside the size class of the stated age (60 to 210 days)."""
    stated = facts.ages.stated
    if stated is None:
        return
    low = size_band_mm(stated.days - stated.rounding_days)
    high = size_band_mm(stated.days + stated.rounding_days)
    if low is None or high is None:
        return
    for number, measurement in facts.of(Measurement):
        if measurement.quantity is not Quantity.CROWN_RUMP_LENGTH:
            continue
        if not low[0] <= measurement.size_mm <= high[1]:
            band = f"{low[0]:.0f} to {high[1]:.0f} mm"
            yield Raised(
                f"A crown-rump length of {size_text(measurement.size_mm)} is outside the size "
                f"class of {days_text(stated.days)} days ({band}).",
                (
                    ("stated", f"{days_text(stated.days)} d"),
                    ("length", size_text(measurement.size_mm)),
                    ("class", band),
                ),
                (*facts.status_numbers, number),
            )
