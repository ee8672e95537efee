"""Numbers that no cow has: sizes, ages, counts, scores and days outside what is in print or use."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TypeVar

from grammar.ageing.estimate import size_text
from grammar.ageing.measured import quantity_text
from grammar.checks.rule import COMMON_PRACTICE, Family, Raised
from grammar.facts import ExamFacts
from grammar.fields import numbers_of, range_of
from grammar.findings import (
    Conceptus,
    Condition,
    Finding,
    History,
    Measurement,
    Ovary,
    Plan,
    Pregnancy,
    Uterus,
)
from grammar.plausible import CL, DAYS_AGO, FLUID_FILLED, FOLLICLE, PREGNANCY_DAYS, SCALES, Range
from grammar.wording import spaced

RULES = Family("ranges")
F = TypeVar("F", bound=Finding)


def _outside(facts: ExamFacts, kind: type[F]) -> Iterator[tuple[int, F, float, Range]]:
    """Every number of the findings of a type, whichever field it stands in, that lies outside."""
    for number, finding in facts.of(kind):
        for field, value in numbers_of(finding):
            limits = range_of(finding, field)
            if limits is not None and not limits.holds(value):
                yield number, finding, value, limits


def _raised(
    facts: ExamFacts, kind: type[Finding], why: str, *figures: tuple[str, str]
) -> Iterator[Raised]:
    """Numbers outside their range, in these words: {0} is the number, {1} its range."""
    for number, _, value, limits in _outside(facts, kind):
        said = (f"{value:g}", f"{limits.low:g} to {limits.high:g}")
        told = tuple((name, text.format(*said)) for name, text in figures)
        yield Raised(why.format(*said), told, (number,))


@RULES.query(f"{CL}; {FOLLICLE}; {FLUID_FILLED}", Ovary)
def size_of_ovarian_structure(facts: ExamFacts) -> Iterator[Raised]:
    """A structure on an ovary is smaller or larger than such structures are."""
    for number, ovary, size, limits in _outside(facts, Ovary):
        yield _size(number, spaced(ovary.structure), size, limits, ovary.unit_assumed)


def _size(number: int, name: str, size: float, limits: Range, unit_assumed: bool) -> Raised:
    within = f"{limits.low:g} to {limits.high:g} mm"
    unit = " No unit was spoken." if unit_assumed else ""
    return Raised(
        f"A {name} of {size_text(size)} is outside {within}.{unit} Check the number and the unit.",
        (("size", size_text(size)), ("range", within), ("range from", limits.source)),
        (number,),
    )


@RULES.query(COMMON_PRACTICE, Ovary)
def axes_far_apart(facts: ExamFacts) -> Iterator[Raised]:
    """The two axes of a structure differ more than twofold."""
    for number, ovary in facts.ovaries:
        one, other = ovary.size_mm, ovary.second_size_mm
        if one is None or other is None:
            continue
        if min(one, other) <= 0 or max(one, other) / min(one, other) > 2:
            yield Raised(
                f"Two axes of {size_text(one)} and {size_text(other)} are more than twofold apart. "
                "Check both numbers.",
                (("axes", f"{one:g} by {other:g} mm"),),
                (number,),
            )


@RULES.query("arithmetic", Ovary)
def part_larger_than_structure(facts: ExamFacts) -> Iterator[Raised]:
    """A cavity or a wall does not fit into the structure it belongs to."""
    for number, ovary in facts.ovaries:
        sizes = [mm for mm in (ovary.size_mm, ovary.second_size_mm) if mm is not None]
        if not sizes:
            continue
        size, cavity, wall = max(sizes), ovary.cavity_mm, ovary.wall_mm
        for name, part, fits, room in (
            ("cavity", cavity, cavity is None or cavity < size, "does not fit into a structure"),
            ("wall", wall, wall is None or wall * 2 <= size, "leaves no room in a structure"),
        ):
            if part is not None and not fits:
                yield Raised(
                    f"A {name} of {size_text(part)} {room} of {size_text(size)}. Check which "
                    "number is which.",
                    ((name, size_text(part)), ("size", size_text(size))),
                    (number,),
                )


@RULES.query(
    "Curran, Pierson & Ginther 1986 and Zemjanis 1970 (from memory); Somnuk & Kornmatitsuk "
    "2017; else common practice, no source",
    Measurement,
)
def size_of_conceptus(facts: ExamFacts) -> Iterator[Raised]:
    """A measurement of the conceptus is outside what any age of pregnancy has."""
    for number, measurement, size, limits in _outside(facts, Measurement):
        name = quantity_text(measurement.quantity)
        yield _size(number, name, size, limits, measurement.unit_assumed)


@RULES.query(COMMON_PRACTICE, Uterus)
def depth_of_fluid(facts: ExamFacts) -> Iterator[Raised]:
    """The depth of uterine fluid is outside 1 to 300 mm."""
    why = "Fluid {0} mm deep is outside {1} mm. Check the number and the unit."
    return _raised(facts, Uterus, why, ("depth", "{0} mm"))


@RULES.query(PREGNANCY_DAYS.source, Pregnancy)
def age_outside_pregnancy(facts: ExamFacts) -> Iterator[Raised]:
    """A stated age is below 19 or above 300 days."""
    why = (
        "An age of {0} days is outside {1} days of a live pregnancy seen. Check the number and "
        "whether days, weeks or months were meant."
    )
    return _raised(facts, Pregnancy, why, ("age", "{0} d"), ("range", "{1} d"))


@RULES.query("arithmetic", Pregnancy)
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


@RULES.query(COMMON_PRACTICE, Conceptus)
def number_of_fetuses(facts: ExamFacts) -> Iterator[Raised]:
    """No fetus, or more than three, are recorded."""
    why = "{0} fetuses are recorded; check the number."
    return _raised(facts, Conceptus, why, ("fetuses", "{0}"))


@RULES.query(SCALES, Condition)
def score_outside_scale(facts: ExamFacts) -> Iterator[Raised]:
    """A condition score is outside its scale."""
    why = "A condition score of {0} is outside {1}. Check the number and the scale."
    return _raised(facts, Condition, why, ("score", "{0}"), ("scale", "{1}"))


@RULES.note("Roche et al. 2004, J Dairy Sci 87:3076-3079 (scales of 5, 8 and 10)", Condition)
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


@RULES.query(COMMON_PRACTICE, Plan, History)
def days_beyond_reason(facts: ExamFacts) -> Iterator[Raised]:
    """A plan lies more than 300 days ahead, or a past event in the future or ten years back."""
    why = "A plan in {0} days is further off than a whole pregnancy. Check the number."
    yield from _raised(facts, Plan, why, ("in", "{0} d"))
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
