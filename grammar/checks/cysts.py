"""Which published definition of a cyst a structure meets."""

from __future__ import annotations

from dataclasses import dataclass

from grammar.exam import CystDefinition
from grammar.findings import OvarianStructure

CYSTS = frozenset(
    {OvarianStructure.CYST, OvarianStructure.FOLLICULAR_CYST, OvarianStructure.LUTEAL_CYST}
)


@dataclass(frozen=True, slots=True)
class Definition:
    """A size limit in mm (``included``: the limit itself counts), days it must persist, source.

    All of them ask that there is no corpus luteum.
    """

    limit_mm: float
    included: bool
    persists_days: int
    words: str
    source: str

    def size_met(self, size_mm: float) -> bool:
        """Whether a structure of this size is large enough."""
        return size_mm >= self.limit_mm if self.included else size_mm > self.limit_mm


DEFINITIONS: dict[CystDefinition, Definition] = {
    CystDefinition.OVER_25_MM: Definition(
        25,
        False,
        10,
        "over 25 mm for 10 days",
        "Roberts 1971/1986, quoted in a Danish veterinary journal 2022",
    ),
    CystDefinition.AT_LEAST_20_MM: Definition(
        20,
        True,
        0,
        "20 mm or more",
        "Vanholder, Opsomer & de Kruif 2006, Reprod Nutr Dev 46:105-119 (from memory)",
    ),
    CystDefinition.OVER_17_MM: Definition(
        17,
        False,
        6,
        "over 17 mm for more than 6 days",
        "Silvia et al. 2002; Hatler et al. 2003 (from memory)",
    ),
}
NEWEST_OPINION = "Dansk Veterinaertidsskrift 2022 no 10: size alone says nothing"
ALL_SOURCES = "; ".join(d.source for d in DEFINITIONS.values()) + f"; against all: {NEWEST_OPINION}"


def definitions_text(size_mm: float) -> str:
    """Which sizes are met and which not, in words."""
    met = [d.words for d in DEFINITIONS.values() if d.size_met(size_mm)]
    unmet = [d.words for d in DEFINITIONS.values() if not d.size_met(size_mm)]
    by = f"by {' and '.join(met)}" if met else "by none"
    return f"{by}, not by {' or '.join(unmet)}" if unmet and met else by
