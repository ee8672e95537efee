"""Sizes that no cow has: structures of the ovaries, fluid and conceptus."""

from __future__ import annotations

from collections.abc import Iterator

from grammar.ageing.estimate import size_text
from grammar.ageing.measured import quantity_text
from grammar.checks.rule import COMMON_PRACTICE, Raised, Rule
from grammar.exam import Severity
from grammar.facts import ExamFacts
from grammar.fields import numbers_of, range_of
from grammar.findings import Measurement, Ovary, Uterus
from grammar.plausible import CL, FLUID_DEPTH_MM, FLUID_FILLED, FOLLICLE

FAMILY = "ranges"


def ovarian_size(facts: ExamFacts) -> Iterator[Raised]:
    """'CL eighty' raises it, 'CL twenty-two' does not."""
    for number, ovary in facts.ovaries:
        yield from _outside(number, ovary, ovary.structure.value.replace("_", " "))


def conceptus_size(facts: ExamFacts) -> Iterator[Raised]:
    """'Crown rump two metres' raises it."""
    for number, measurement in facts.of(Measurement):
        yield from _outside(number, measurement, quantity_text(measurement.quantity))


def _outside(number: int, finding: Ovary | Measurement, name: str) -> Iterator[Raised]:
    """Every number of a finding that is outside its range, whichever field it stands in."""
    for field, size in numbers_of(finding):
        limits = range_of(finding, field)
        if limits is None or limits.holds(size):
            continue
        within = f"{limits.low:g} to {limits.high:g} mm"
        unit = " No unit was spoken." if finding.unit_assumed else ""
        yield Raised(
            f"A {name} of {size_text(size)} is outside {within}.{unit} "
            "Check the number and the unit.",
            (("size", size_text(size)), ("range", within), ("range from", limits.source)),
            (number,),
        )


def two_axes(facts: ExamFacts) -> Iterator[Raised]:
    """'Twenty by eighty' raises it, 'twenty by eighteen' does not."""
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


def part_of_structure(facts: ExamFacts) -> Iterator[Raised]:
    """A cavity or wall that does not fit into its structure."""
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


def fluid_depth(facts: ExamFacts) -> Iterator[Raised]:
    """A depth of fluid of nothing, or of more than 300 mm."""
    for number, uterus in facts.of(Uterus):
        if uterus.depth_mm is not None and not FLUID_DEPTH_MM.holds(uterus.depth_mm):
            yield Raised(
                f"Fluid {size_text(uterus.depth_mm)} deep is outside {FLUID_DEPTH_MM.low:g} to "
                f"{FLUID_DEPTH_MM.high:g} mm. Check the number and the unit.",
                (("depth", size_text(uterus.depth_mm)),),
                (number,),
            )


RULES: tuple[Rule, ...] = (
    Rule(
        "size_of_ovarian_structure",
        FAMILY,
        Severity.QUERY,
        "A structure on an ovary is smaller or larger than such structures are.",
        f"{CL}; {FOLLICLE}; {FLUID_FILLED}",
        ovarian_size,
    ),
    Rule(
        "axes_far_apart",
        FAMILY,
        Severity.QUERY,
        "The two axes of a structure differ more than twofold.",
        COMMON_PRACTICE,
        two_axes,
    ),
    Rule(
        "part_larger_than_structure",
        FAMILY,
        Severity.QUERY,
        "A cavity or a wall does not fit into the structure it belongs to.",
        "arithmetic",
        part_of_structure,
    ),
    Rule(
        "size_of_conceptus",
        FAMILY,
        Severity.QUERY,
        "A measurement of the conceptus is outside what any age of pregnancy has.",
        "Curran, Pierson & Ginther 1986 and Zemjanis 1970 (from memory); Somnuk & Kornmatitsuk "
        "2017; else common practice, no source",
        conceptus_size,
    ),
    Rule(
        "depth_of_fluid",
        FAMILY,
        Severity.QUERY,
        "The depth of uterine fluid is outside 1 to 300 mm.",
        COMMON_PRACTICE,
        fluid_depth,
    ),
)
