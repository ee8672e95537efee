"""Sides, corpora lutea and cysts of an exam, as several families of rules ask for them."""

from __future__ import annotations

from collections.abc import Container
from dataclasses import dataclass

from grammar.exam import CystDefinition
from grammar.facts import ExamFacts, once
from grammar.findings import OvarianStructure, Seen, Side, SweepStructure

# Structures that hold a pregnancy: a mature corpus luteum and one just formed.
CORPORA_LUTEA = frozenset({OvarianStructure.CORPUS_LUTEUM, OvarianStructure.CORPUS_HAEMORRHAGICUM})
CYSTS = frozenset(
    {OvarianStructure.CYST, OvarianStructure.FOLLICULAR_CYST, OvarianStructure.LUTEAL_CYST}
)
FLANKS: tuple[Side, Side] = (Side.LEFT, Side.RIGHT)


def on_sides(side: Side | None) -> tuple[Side, ...]:
    """The ovaries or horns that a spoken side means; none where none was said."""
    if side is Side.BOTH:
        return FLANKS
    return (side,) if side in FLANKS else ()


@once
def corpora_lutea(facts: ExamFacts) -> dict[Side | None, int]:
    """How many corpora lutea are recorded on each ovary (None: no side said).

    The same structure spoken of twice, without or with the same size, is counted once.
    """
    counts: dict[Side | None, int] = {}
    for side in (*FLANKS, None):
        mine = [
            told.finding
            for told in facts.ovaries
            if told.finding.structure in CORPORA_LUTEA
            and (side in on_sides(told.finding.side) if side else not on_sides(told.finding.side))
        ]
        if mine:
            sizes = {ovary.size_mm for ovary in mine if ovary.size_mm is not None}
            counts[side] = max(1, len(sizes), *(ovary.count or 1 for ovary in mine))
    return counts


def ovary_numbers(facts: ExamFacts, structures: Container[OvarianStructure]) -> tuple[int, ...]:
    """Numbers of the findings that record one of these structures."""
    return tuple(t.number for t in facts.ovaries if t.finding.structure in structures)


def static_sides(facts: ExamFacts) -> set[Side]:
    """Ovaries recorded as static."""
    static = [o for _, o in facts.ovaries if o.structure is OvarianStructure.STATIC]
    return {side for ovary in static for side in on_sides(ovary.side)}


@once
def ovaries_spoken_of(facts: ExamFacts) -> frozenset[Side]:
    """Ovaries of which at least one structure, or their lack, is recorded."""
    told = (*facts.ovaries, *facts.absent)
    return frozenset(side for _, ovary in told for side in on_sides(ovary.side))


_OVARY_STATIONS = {SweepStructure.LEFT_OVARY: Side.LEFT, SweepStructure.RIGHT_OVARY: Side.RIGHT}


def ovaries_closed(facts: ExamFacts) -> bool:
    """Whether nothing more is to be expected of the ovaries: both spoken of, or the exam closed."""
    remarked = {
        _OVARY_STATIONS[told.finding.structure]
        for told in facts.of(Seen)
        if told.finding.structure in _OVARY_STATIONS
    }
    return facts.exam.closed or ovaries_spoken_of(facts) | remarked >= set(FLANKS)


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
        True,
        10,
        "25 mm or more for 10 days",
        "Roberts 1986 (2.5 cm or greater) and Opsomer 2009, as quoted on teaching pages",
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
