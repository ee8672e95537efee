"""Plausible values of what is counted and measured, each range with who says so.

Rows of ``grammar.fields`` name them, and the checks ask where a number lies outside.
"""

from __future__ import annotations

from dataclasses import dataclass

from grammar.findings import Condition, Measurement, OvarianStructure, Ovary, Quantity

COMMON_PRACTICE = "common practice, no source"


@dataclass(frozen=True, slots=True)
class Range:
    """Plausible values, both limits included, and who says so."""

    low: float
    high: float
    source: str

    def holds(self, value: float) -> bool:
        """Whether the value lies inside."""
        return self.low <= value <= self.high


CL = "textbook summary (Ginther 1998; Noakes), from memory: query outside 8 to 40 mm"
FOLLICLE = (
    "Lopez-Gatius et al. 2022, Animals 12:1140 (8.5 mm at deviation); follicles under 3 mm are "
    "not measured one by one (common practice); above 25 mm the cyst rules ask"
)
FLUID_FILLED = "lower limit: Dansk Veterinaertidsskrift 2022 no 10 (10 mm); upper: common practice"
SCALES = (
    "Roche et al. 2004, J Dairy Sci 87:3076-3079 (scales of 5, 8 and 10); scale of 9: general "
    "use, from memory"
)

OVARIAN_MM: dict[OvarianStructure, Range] = {
    OvarianStructure.CORPUS_LUTEUM: Range(8, 40, CL),
    OvarianStructure.CORPUS_HAEMORRHAGICUM: Range(5, 30, COMMON_PRACTICE),
    OvarianStructure.REGRESSING_CORPUS_LUTEUM: Range(3, 35, COMMON_PRACTICE),
    OvarianStructure.FOLLICLE: Range(3, 40, FOLLICLE),
    OvarianStructure.SMALL_FOLLICLES: Range(1, 10, FOLLICLE),
    OvarianStructure.FOLLICULAR_CYST: Range(10, 100, FLUID_FILLED),
    OvarianStructure.LUTEAL_CYST: Range(10, 100, FLUID_FILLED),
    OvarianStructure.CYST: Range(10, 100, FLUID_FILLED),
    OvarianStructure.PARAOVARIAN_CYST: Range(2, 100, COMMON_PRACTICE),
    OvarianStructure.TUMOUR: Range(10, 500, COMMON_PRACTICE),
}

CONCEPTUS_MM: dict[Quantity, Range] = {
    Quantity.CROWN_RUMP_LENGTH: Range(
        3, 1000, "Curran et al. 1986 (3.8 mm at 20 d, from memory); newborn about 1 m"
    ),
    Quantity.BIPARIETAL_DIAMETER: Range(
        3, 160, "Krog, Agerholm & Nielsen 2018, PLoS ONE 13(11) e0207682 (3 to 152 mm), with room"
    ),
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
PREGNANCY_DAYS = Range(
    19,
    300,
    "Curran et al. 1986 (embryo from 19 d, from memory); Copeland 1930, J Dairy Sci 13 (95 % of "
    "terms within 270 to 299 d)",
)
FETUSES = Range(1, 3, COMMON_PRACTICE)
DAYS_AHEAD = Range(0, 300, COMMON_PRACTICE)
"""A plan further off than a whole pregnancy is a mistake."""
DAYS_AGO = Range(0, 3650, COMMON_PRACTICE)
TRACT_SCORES = Range(1, 5, "Anderson et al. 1991, Agri-Practice 12(4):19-26, from memory")
WIDEST_SCALE = 10


def of_ovary(ovary: Ovary) -> Range | None:
    """The diameters that such a structure has."""
    return OVARIAN_MM.get(ovary.structure)


def of_measurement(measurement: Measurement) -> Range:
    """The sizes that such a part of a conceptus has at any age."""
    return CONCEPTUS_MM[measurement.quantity]


def of_score(condition: Condition) -> Range:
    """From 1 to the top of the scale that was said, or of the widest in use."""
    return Range(1, WIDEST_SCALE if condition.scale is None else condition.scale, SCALES)
