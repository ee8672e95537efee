"""Sizes that no cow has: structures of the ovaries, fluid and conceptus."""

from __future__ import annotations

from collections.abc import Iterator

from grammar.ageing.estimate import size_text
from grammar.ageing.measured import quantity_text
from grammar.checks.rule import COMMON_PRACTICE, Raised, Range, Rule
from grammar.exam import Severity
from grammar.facts import ExamFacts
from grammar.findings import OvarianStructure, Quantity

FAMILY = "ranges"
_CL = "textbook summary (Ginther 1998; Noakes), from memory: query outside 8 to 40 mm"
_FOLLICLE = (
    "Lopez-Gatius et al. 2022, Animals 12:1140 (8.5 mm at deviation); follicles under 3 mm are "
    "not measured one by one (common practice); above 25 mm the cyst rules ask"
)
_FLUID_FILLED = "lower limit: Dansk Veterinaertidsskrift 2022 no 10 (10 mm); upper: common practice"

OVARIAN_MM: dict[OvarianStructure, Range] = {
    OvarianStructure.CORPUS_LUTEUM: Range(8, 40, _CL),
    OvarianStructure.CORPUS_HAEMORRHAGICUM: Range(5, 30, COMMON_PRACTICE),
    OvarianStructure.REGRESSING_CORPUS_LUTEUM: Range(3, 35, COMMON_PRACTICE),
    OvarianStructure.FOLLICLE: Range(3, 40, _FOLLICLE),
    OvarianStructure.SMALL_FOLLICLES: Range(1, 10, _FOLLICLE),
    OvarianStructure.FOLLICULAR_CYST: Range(10, 100, _FLUID_FILLED),
    OvarianStructure.LUTEAL_CYST: Range(10, 100, _FLUID_FILLED),
    OvarianStructure.CYST: Range(10, 100, _FLUID_FILLED),
    OvarianStructure.PARAOVARIAN_CYST: Range(2, 100, COMMON_PRACTICE),
    OvarianStructure.TUMOUR: Range(10, 500, COMMON_PRACTICE),
}

CONCEPTUS_MM: dict[Quantity, Range] = {
    Quantity.CROWN_RUMP_LENGTH: Range(
        3, 1000, "Curran et al. 1986 (3.8 mm at 20 d, from memory); newborn about 1 m"
    ),
    Quantity.BIPARIETAL_DIAMETER: Range(8, 150, COMMON_PRACTICE),
    Quantity.TRUNK_DIAMETER: Range(
        5, 350, "Somnuk & Kornmatitsuk 2017 (from 5 mm); common practice"
    ),
    Quantity.EYE_DIAMETER: Range(3, 45, COMMON_PRACTICE),
    Quantity.AMNIOTIC_VESICLE_DIAMETER: Range(
        3, 150, "Zemjanis 1970 (7 mm at 35 d, 105 mm at 65 d), from memory, with room"
    ),
    Quantity.PLACENTOME_LENGTH: Range(3, 130, COMMON_PRACTICE),
    Quantity.FEMUR_LENGTH: Range(2, 250, COMMON_PRACTICE),
}

FLUID_DEPTH_MM = Range(1, 300, COMMON_PRACTICE)


def ovarian_size(facts: ExamFacts) -> Iterator[Raised]:
    """'CL eighty' raises it, 'CL twenty-two' does not."""
    for number, ovary in facts.ovaries:
        limits = OVARIAN_MM.get(ovary.structure)
        if limits is None:
            continue
        for size in (ovary.size_mm, ovary.second_size_mm):
            if size is None or limits.holds(size):
                continue
            unit = " No unit was spoken." if ovary.unit_assumed else ""
            name = ovary.structure.value.replace("_", " ")
            yield Raised(
                f"A {name} of {size_text(size)} is outside {limits.low:g} to {limits.high:g} mm."
                f"{unit} Check the number and the unit.",
                (
                    ("size", size_text(size)),
                    ("range", f"{limits.low:g} to {limits.high:g} mm"),
                    ("range from", limits.source),
                ),
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


def conceptus_size(facts: ExamFacts) -> Iterator[Raised]:
    """'Crown rump two metres' raises it."""
    for number, measurement in facts.measurements:
        limits = CONCEPTUS_MM[measurement.quantity]
        if not limits.holds(measurement.size_mm):
            unit = " No unit was spoken." if measurement.unit_assumed else ""
            yield Raised(
                f"A {quantity_text(measurement.quantity)} of {size_text(measurement.size_mm)} is "
                f"outside {limits.low:g} to {limits.high:g} mm.{unit} "
                "Check the number and the unit.",
                (
                    ("size", size_text(measurement.size_mm)),
                    ("range", f"{limits.low:g} to {limits.high:g} mm"),
                    ("range from", limits.source),
                ),
                (number,),
            )


def fluid_depth(facts: ExamFacts) -> Iterator[Raised]:
    """A depth of fluid of nothing, or of more than 300 mm."""
    for number, uterus in facts.uteri:
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
        f"{_CL}; {_FOLLICLE}; {_FLUID_FILLED}",
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
