"""Structures of the ovaries: cysts and their walls, corpora lutea, ovaries at rest."""

from __future__ import annotations

from collections.abc import Iterator

from grammar.ageing.estimate import size_text
from grammar.checks.rule import COMMON_PRACTICE, Family, Raised
from grammar.checks.tract import (
    ALL_SOURCES,
    CORPORA_LUTEA,
    CYSTS,
    DEFINITIONS,
    FLANKS,
    corpora_lutea,
    definitions_text,
    on_sides,
    ovary_numbers,
    static_sides,
)
from grammar.facts import ExamFacts
from grammar.findings import OvarianStructure, Ovary, UterineState, Uterus, Wall
from grammar.plausible import OVARIAN_MM
from grammar.wording import spaced

RULES = Family("ovaries", Ovary)
# Structures that an ovary called static or empty cannot have.
ACTIVE = CYSTS | CORPORA_LUTEA | {OvarianStructure.FOLLICLE}
RESTING = frozenset({OvarianStructure.STATIC, OvarianStructure.NONE})
LARGE_SOLID_CL_MM = 35.0
# Textbooks (Noakes; DesCoteaux et al. 2010), from memory: over 3 mm is luteal.
LUTEAL_WALL_MM = 3.0
_WALL_SOURCE = (
    "wall over 3 mm luteal: Noakes; DesCoteaux et al. 2010 (from memory); means 5.3 and 2.5 mm: "
    "Douthwaite & Dobson 2000, Vet Rec; against a cavitary corpus luteum the wall does not tell: "
    "Northern KZN & Midlands proceedings 2019"
)
_KZN = "Northern KZN & Midlands veterinary branch proceedings 2019 (a cyst beside a corpus luteum)"


def _place(ovary: Ovary) -> str:
    return ovary.side or "side not said"


def _mean_size(ovary: Ovary) -> float | None:
    if ovary.size_mm is None or ovary.second_size_mm is None:
        return ovary.size_mm
    return (ovary.size_mm + ovary.second_size_mm) / 2


@RULES.note(ALL_SOURCES)
def follicle_of_cyst_size(facts: ExamFacts) -> Iterator[Raised]:
    """A follicle reaches the cyst size of the settings and no corpus luteum is recorded. The
    competing sizes are 25 mm or more, 20 mm or more, and over 17 mm."""
    chosen = DEFINITIONS[facts.exam.settings.cyst_definition]
    if corpora_lutea(facts):
        return
    for number, ovary in facts.ovaries:
        size = _mean_size(ovary)
        if ovary.structure is OvarianStructure.FOLLICLE and size and chosen.size_met(size):
            yield Raised(
                f"A follicle of {size_text(size)} ({_place(ovary)}) and no corpus luteum "
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
        size = _mean_size(ovary)
        if ovary.structure in CYSTS and size and not chosen.size_met(size):
            yield Raised(
                f"A {spaced(ovary.structure)} of {size_text(size)} ({_place(ovary)}) is under the "
                f"size in use ({chosen.words}); it is a cyst {definitions_text(size)}.",
                (("size", size_text(size)), ("definition used", chosen.words)),
                (number,),
            )


@RULES.note(f"{_KZN}; Roberts 1971/1986")
def cyst_beside_corpus_luteum(facts: ExamFacts) -> Iterator[Raised]:
    """A cyst, or a follicle of 25 mm or more, is recorded with a corpus luteum."""
    if not corpora_lutea(facts):
        return
    for number, ovary in facts.ovaries:
        size = _mean_size(ovary)
        large = ovary.structure is OvarianStructure.FOLLICLE and (size or 0) >= 25
        if large or ovary.structure in (OvarianStructure.CYST, OvarianStructure.FOLLICULAR_CYST):
            yield Raised(
                f"A {spaced(ovary.structure)} ({_place(ovary)}) with a corpus luteum recorded: no "
                "cyst by the definitions, which ask that there is none.",
                (("structure", spaced(ovary.structure)), ("definition", "no corpus luteum")),
                (number, *ovary_numbers(facts, CORPORA_LUTEA)),
            )


def _wall(ovary: Ovary) -> tuple[str, str]:
    """The wall in words, and of which kind of cyst such walls are; empty where none was said."""
    if ovary.wall_mm is not None:
        kind = "luteal" if ovary.wall_mm > LUTEAL_WALL_MM else "follicular"
        return size_text(ovary.wall_mm), kind
    if ovary.wall is None:
        return "", ""
    return str(ovary.wall), "luteal" if ovary.wall is Wall.THICK else "follicular"


@RULES.query(_WALL_SOURCE)
def wall_against_kind_of_cyst(facts: ExamFacts) -> Iterator[Raised]:
    """The wall recorded does not go with the kind of cyst recorded."""
    other = {OvarianStructure.FOLLICULAR_CYST: "luteal", OvarianStructure.LUTEAL_CYST: "follicular"}
    for number, ovary in facts.ovaries:
        wall, kind = _wall(ovary)
        if wall and other.get(ovary.structure) == kind:
            yield Raised(
                f"A {spaced(ovary.structure)} ({_place(ovary)}) with a wall recorded as {wall}: "
                "the usual limit is 3 mm, over it luteal. Check the kind and the wall; the wall "
                "alone never settles it.",
                (("wall", wall), ("limit", "3 mm")),
                (number,),
            )


@RULES.note(_WALL_SOURCE)
def wall_of_cyst(facts: ExamFacts) -> Iterator[Raised]:
    """A cyst has its wall recorded and not its kind."""
    for number, ovary in facts.ovaries:
        wall, kind = _wall(ovary)
        if wall and ovary.structure is OvarianStructure.CYST:
            yield Raised(
                f"A cyst ({_place(ovary)}) with a wall recorded as {wall}, its kind not said: such "
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
                f"A luteal cyst ({_place(ovary)}) in an animal recorded pregnant. A cavity in a "
                "corpus luteum is normal (79 %); check which of the two it is.",
                (("cavities in normal corpora lutea", "63 of 80"),),
                (number, *facts.status_numbers),
            )


@RULES.query(
    "textbook summary, from memory; Sartori et al. 2004, J Dairy Sci 87:905-920 (27.7 mm as "
    "a sphere, cows)"
)
def large_corpus_luteum_without_cavity(facts: ExamFacts) -> Iterator[Raised]:
    """A corpus luteum is over 35 mm and no cavity is said."""
    for number, ovary in facts.ovaries:
        size = _mean_size(ovary)
        if ovary.structure is not OvarianStructure.CORPUS_LUTEUM or size is None:
            continue
        if size > OVARIAN_MM[ovary.structure].high:  # the size itself is asked about
            continue
        if size > LARGE_SOLID_CL_MM and not ovary.cavity and ovary.cavity_mm is None:
            yield Raised(
                f"A corpus luteum of {size_text(size)} ({_place(ovary)}) and no cavity said; "
                "mature ones are 18 to 32 mm. Check the number, and whether it has a cavity.",
                (("size", size_text(size)), ("mature", "18 to 32 mm")),
                (number,),
            )


@RULES.query(
    f"Lopez-Gatius et al. 2022, Animals 12:1140 (deviation at 8.5 mm); else {COMMON_PRACTICE}"
)
def static_and_active_ovary(facts: ExamFacts) -> Iterator[Raised]:
    """An ovary is recorded static or empty and also with a structure that excludes it."""
    for side in FLANKS:
        mine = [told for told in facts.ovaries if side in on_sides(told.finding.side)]
        resting = [told for told in mine if told.finding.structure in RESTING]
        active = [told for told in mine if _disturbs(told.finding)]
        if resting and active:
            names = ", ".join(sorted({spaced(told.finding.structure) for told in active}))
            yield Raised(
                f"The {side} ovary is recorded as static or empty, and with: {names}. "
                "Say which it is.",
                (("ovary", side.value), ("structures", names)),
                tuple(told.number for told in (*resting, *active)),
            )


def _disturbs(ovary: Ovary) -> bool:
    """Static ovaries have follicles under the 8.5 mm of deviation."""
    if ovary.structure is OvarianStructure.FOLLICLE:
        return (ovary.size_mm or 99) >= 8.5
    return ovary.structure in ACTIVE


@RULES.query(COMMON_PRACTICE)
def structure_there_and_not_there(facts: ExamFacts) -> Iterator[Raised]:
    """A structure is recorded on an ovary and also said not to be there."""
    for number, absent in facts.absent:
        present = [
            told.number
            for told in facts.ovaries
            if told.finding.structure is absent.structure
            and (
                told.finding.side is absent.side
                or set(on_sides(told.finding.side)) & set(on_sides(absent.side))
            )
        ]
        if present:
            yield Raised(
                f"A {spaced(absent.structure)} ({_place(absent)}) is recorded and also said not to "
                "be there. Say which it is.",
                (("structure", spaced(absent.structure)),),
                (number, *present),
            )


@RULES.note(COMMON_PRACTICE)
def both_ovaries_static(facts: ExamFacts) -> Iterator[Raised]:
    """Both ovaries are static, seen once."""
    if len(static_sides(facts)) == 2 and not facts.pregnant and not corpora_lutea(facts):
        yield Raised(
            "Both ovaries static as recorded; one look may fall between two waves.",
            (("static", "both"),),
            ovary_numbers(facts, {OvarianStructure.STATIC}),
        )


@RULES.note(
    "Fissore et al. 1986, Anim Reprod Sci 12:167-177; Northern KZN & Midlands proceedings 2019"
)
def oedema_with_corpus_luteum(facts: ExamFacts) -> Iterator[Raised]:
    """Uterine oedema is recorded beside a corpus luteum of 20 mm or more."""
    folds = facts.numbers(Uterus, lambda uterus: uterus.state is UterineState.OEDEMA)
    mature = tuple(
        t.number
        for t in facts.ovaries
        if t.finding.structure is OvarianStructure.CORPUS_LUTEUM
        and (_mean_size(t.finding) or 0) >= 20
    )
    if folds and mature:
        yield Raised(
            "Oedema of the uterus beside a corpus luteum of 20 mm or more as recorded: folds go "
            "with heat, not with the middle of the cycle.",
            (),
            folds + mature,
        )
