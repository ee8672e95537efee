"""Cysts: size by the definition in use, wall, and what lies beside them."""

from __future__ import annotations

from collections.abc import Iterator

from grammar.ageing.estimate import size_text
from grammar.checks.cysts import ALL_SOURCES, DEFINITIONS, definitions_text
from grammar.checks.rule import Family, Raised
from grammar.checks.tract import corpora_lutea, corpus_luteum_numbers
from grammar.facts import ExamFacts
from grammar.findings import OvarianStructure, Ovary, Side, Wall

RULES = Family("ovaries")

CYSTS = frozenset(
    {OvarianStructure.CYST, OvarianStructure.FOLLICULAR_CYST, OvarianStructure.LUTEAL_CYST}
)

# Textbooks (Noakes; DesCoteaux et al. 2010), from memory: over 3 mm is luteal.
LUTEAL_WALL_MM = 3.0

_WALL_SOURCE = (
    "wall over 3 mm luteal: Noakes; DesCoteaux et al. 2010 (from memory); means 5.3 and 2.5 mm: "
    "Douthwaite & Dobson 2000, Vet Rec; against a cavitary corpus luteum the wall does not tell: "
    "Northern KZN & Midlands proceedings 2019"
)

_KZN = "Northern KZN & Midlands veterinary branch proceedings 2019 (a cyst beside a corpus luteum)"


def name_of(ovary: Ovary) -> str:
    """The structure in words."""
    return ovary.structure.value.replace("_", " ")


def place_of(ovary: Ovary) -> str:
    """Its side in words."""
    if ovary.side is None:
        return "side not said"
    return "both" if ovary.side is Side.BOTH else ovary.side.value


def mean_size(ovary: Ovary) -> float | None:
    """The mean of the two axes where both were said, in mm."""
    if ovary.size_mm is None or ovary.second_size_mm is None:
        return ovary.size_mm
    return (ovary.size_mm + ovary.second_size_mm) / 2


@RULES.note(ALL_SOURCES)
def follicle_of_cyst_size(facts: ExamFacts) -> Iterator[Raised]:
    """A follicle reaches the cyst size of the settings and no corpus luteum is recorded. The
    competing sizes are over 25 mm, 20 mm or more, and over 17 mm."""
    chosen = DEFINITIONS[facts.exam.settings.cyst_definition]
    if corpora_lutea(facts):
        return
    for number, ovary in facts.ovaries:
        size = mean_size(ovary)
        if ovary.structure is OvarianStructure.FOLLICLE and size and chosen.size_met(size):
            yield Raised(
                f"A follicle of {size_text(size)} ({place_of(ovary)}) and no corpus luteum "
                f"recorded: of cyst size {definitions_text(size)}. One visit does not show that it "
                "persists.",
                (("size", size_text(size)), ("definition used", chosen.words)),
                (number,),
            )


@RULES.note(ALL_SOURCES)
def cyst_smaller_than_definition(facts: ExamFacts) -> Iterator[Raised]:
    """A cyst is smaller than the definition of the settings asks."""
    chosen = DEFINITIONS[facts.exam.settings.cyst_definition]
    for number, ovary in facts.ovaries:
        size = mean_size(ovary)
        if ovary.structure in CYSTS and size and not chosen.size_met(size):
            yield Raised(
                f"A {name_of(ovary)} of {size_text(size)} ({place_of(ovary)}) is under the size in "
                f"use ({chosen.words}); it is a cyst {definitions_text(size)}.",
                (("size", size_text(size)), ("definition used", chosen.words)),
                (number,),
            )


@RULES.note(f"{_KZN}; Roberts 1971/1986")
def cyst_beside_corpus_luteum(facts: ExamFacts) -> Iterator[Raised]:
    """A cyst, or a follicle over 25 mm, is recorded with a corpus luteum."""
    if not corpora_lutea(facts):
        return
    for number, ovary in facts.ovaries:
        size = mean_size(ovary)
        large = ovary.structure is OvarianStructure.FOLLICLE and (size or 0) > 25
        if large or ovary.structure in (OvarianStructure.CYST, OvarianStructure.FOLLICULAR_CYST):
            yield Raised(
                f"A {name_of(ovary)} ({place_of(ovary)}) with a corpus luteum recorded: no cyst by "
                "the definitions, which ask that there is none, and taken as harmless.",
                (("structure", name_of(ovary)), ("definition", "no corpus luteum")),
                (number, *corpus_luteum_numbers(facts)),
            )


@RULES.query(_WALL_SOURCE)
def wall_against_kind_of_cyst(facts: ExamFacts) -> Iterator[Raised]:
    """The wall recorded does not go with the kind of cyst recorded."""
    for number, ovary in facts.ovaries:
        thick = _thick(ovary)
        follicular = ovary.structure is OvarianStructure.FOLLICULAR_CYST
        luteal = ovary.structure is OvarianStructure.LUTEAL_CYST
        if thick is None or not ((follicular and thick) or (luteal and not thick)):
            continue
        wall = size_text(ovary.wall_mm) if ovary.wall_mm is not None else str(ovary.wall)
        yield Raised(
            f"A {name_of(ovary)} ({place_of(ovary)}) with a wall recorded as {wall}: the usual "
            "limit is 3 mm, over it luteal. Check the kind and the wall; the wall alone never "
            "settles it.",
            (("wall", wall), ("limit", "3 mm")),
            (number,),
        )


def _thick(ovary: Ovary) -> bool | None:
    if ovary.wall_mm is not None:
        return ovary.wall_mm > LUTEAL_WALL_MM
    return None if ovary.wall is None else ovary.wall is Wall.THICK


@RULES.note(_WALL_SOURCE)
def wall_of_cyst(facts: ExamFacts) -> Iterator[Raised]:
    """A cyst has its wall recorded and not its kind."""
    for number, ovary in facts.ovaries:
        thick = _thick(ovary)
        if ovary.structure is not OvarianStructure.CYST or thick is None:
            continue
        wall = size_text(ovary.wall_mm) if ovary.wall_mm is not None else str(ovary.wall)
        kind = "luteal" if thick else "follicular"
        yield Raised(
            f"A cyst ({place_of(ovary)}) with a wall recorded as {wall}, its kind not said: such "
            f"walls are published as {kind} ones; the wall alone never settles it.",
            (("wall", wall), ("limit", "3 mm")),
            (number,),
        )


@RULES.query(
    "Kastelic, Pierson & Ginther 1990, Theriogenology (cavity in 63 of 80 corpora lutea); "
    "Perez-Marin 2009, Reprod Domest Anim 44:384-389"
)
def luteal_cyst_in_pregnancy(facts: ExamFacts) -> Iterator[Raised]:
    """A luteal cyst is recorded in a pregnant animal."""
    if not facts.pregnant:
        return
    for number, ovary in facts.ovaries:
        if ovary.structure is OvarianStructure.LUTEAL_CYST:
            yield Raised(
                f"A luteal cyst ({place_of(ovary)}) in an animal recorded pregnant. A cavity in a "
                "corpus luteum is normal (79 %); check which of the two it is.",
                (("cavities in normal corpora lutea", "63 of 80"),),
                (number, *facts.status_numbers),
            )
