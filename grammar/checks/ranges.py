"""Sizes that no cow has: structures of the ovaries, fluid and conceptus."""

from __future__ import annotations

from collections.abc import Iterator

from grammar.ageing.estimate import size_text
from grammar.ageing.measured import quantity_text
from grammar.checks.outside import outside
from grammar.checks.rule import COMMON_PRACTICE, Family, Raised
from grammar.facts import ExamFacts
from grammar.findings import Measurement, Ovary, Uterus
from grammar.plausible import CL, FLUID_FILLED, FOLLICLE, Range

RULES = Family("ranges")


@RULES.query(f"{CL}; {FOLLICLE}; {FLUID_FILLED}")
def size_of_ovarian_structure(facts: ExamFacts) -> Iterator[Raised]:
    """A structure on an ovary is smaller or larger than such structures are."""
    for number, ovary, size, limits in outside(facts, Ovary):
        name = ovary.structure.value.replace("_", " ")
        yield _size(number, name, size, limits, ovary.unit_assumed)


@RULES.query(COMMON_PRACTICE)
def axes_far_apart(facts: ExamFacts) -> Iterator[Raised]:
    """The two axes of a structure differ more than twofold."""
    for number, ovary in facts.ovaries:
        if ovary.size_mm is None or ovary.second_size_mm is None:
            continue
        low, high = sorted((ovary.size_mm, ovary.second_size_mm))
        if low <= 0 or high / low > 2:
            yield Raised(
                f"Two axes of {size_text(ovary.size_mm)} and {size_text(ovary.second_size_mm)} "
                "are more than twofold apart. Check both numbers.",
                (("axes", f"{ovary.size_mm:g} by {ovary.second_size_mm:g} mm"),),
                (number,),
            )


def _size(number: int, name: str, size: float, limits: Range, unit_assumed: bool) -> Raised:
    within = f"{limits.low:g} to {limits.high:g} mm"
    unit = " No unit was spoken." if unit_assumed else ""
    return Raised(
        f"A {name} of {size_text(size)} is outside {within}.{unit} Check the number and the unit.",
        (("size", size_text(size)), ("range", within), ("range from", limits.source)),
        (number,),
    )


@RULES.query("arithmetic")
def part_larger_than_structure(facts: ExamFacts) -> Iterator[Raised]:
    """A cavity or a wall does not fit into the structure it belongs to."""
    for number, ovary in facts.ovaries:
        size = max(
            (mm for mm in (ovary.size_mm, ovary.second_size_mm) if mm is not None), default=None
        )
        if size is None:
            continue
        if ovary.cavity_mm is not None and ovary.cavity_mm >= size:
            yield Raised(
                f"A cavity of {size_text(ovary.cavity_mm)} does not fit into a structure of "
                f"{size_text(size)}. Check which number is which.",
                (("cavity", size_text(ovary.cavity_mm)), ("size", size_text(size))),
                (number,),
            )
        if ovary.wall_mm is not None and ovary.wall_mm * 2 > size:
            yield Raised(
                f"A wall of {size_text(ovary.wall_mm)} leaves no room in a structure of "
                f"{size_text(size)}. Check which number is which.",
                (("wall", size_text(ovary.wall_mm)), ("size", size_text(size))),
                (number,),
            )


@RULES.query(
    "Curran, Pierson & Ginther 1986 and Zemjanis 1970 (from memory); Somnuk & Kornmatitsuk "
    "2017; else common practice, no source"
)
def size_of_conceptus(facts: ExamFacts) -> Iterator[Raised]:
    """A measurement of the conceptus is outside what any age of pregnancy has."""
    for number, measurement, size, limits in outside(facts, Measurement):
        name = quantity_text(measurement.quantity)
        yield _size(number, name, size, limits, measurement.unit_assumed)


@RULES.query(COMMON_PRACTICE)
def depth_of_fluid(facts: ExamFacts) -> Iterator[Raised]:
    """The depth of uterine fluid is outside 1 to 300 mm."""
    for number, _, depth, limits in outside(facts, Uterus):
        yield Raised(
            f"Fluid {size_text(depth)} deep is outside {limits.low:g} to {limits.high:g} mm. "
            "Check the number and the unit.",
            (("depth", size_text(depth)),),
            (number,),
        )
