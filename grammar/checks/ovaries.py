"""Structures of the ovaries: cysts and their walls, corpora lutea, ovaries at rest."""

from __future__ import annotations

from collections.abc import Iterator

from grammar.ageing.estimate import size_text
from grammar.checks.cyst_rules import CYSTS, mean_size, name_of, place_of
from grammar.checks.rule import COMMON_PRACTICE, Family, Raised
from grammar.checks.tract import FLANKS, corpora_lutea, on_sides
from grammar.facts import ExamFacts, Told
from grammar.findings import OvarianStructure, Ovary, UterineState, Uterus

RULES = Family("ovaries")

# Structures that an ovary called static or empty cannot have.
ACTIVE = frozenset(
    {
        *CYSTS,
        OvarianStructure.CORPUS_LUTEUM,
        OvarianStructure.CORPUS_HAEMORRHAGICUM,
        OvarianStructure.FOLLICLE,
    }
)

RESTING = frozenset({OvarianStructure.STATIC, OvarianStructure.NONE})

LARGE_SOLID_CL_MM = 35.0


@RULES.query(
    "textbook summary, from memory; Sartori et al. 2004, J Dairy Sci 87:905-920 (27.7 mm as "
    "a sphere, cows)"
)
def large_corpus_luteum_without_cavity(facts: ExamFacts) -> Iterator[Raised]:
    """A corpus luteum is over 35 mm and no cavity is said."""
    for number, ovary in facts.ovaries:
        size = mean_size(ovary)
        if ovary.structure is not OvarianStructure.CORPUS_LUTEUM or size is None:
            continue
        if size > LARGE_SOLID_CL_MM and not ovary.cavity and ovary.cavity_mm is None:
            yield Raised(
                f"A corpus luteum of {size_text(size)} ({place_of(ovary)}) and no cavity said; "
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
        active = [told for told in mine if told.finding.structure in ACTIVE and _disturbs(told)]
        if resting and active:
            names = ", ".join(sorted({name_of(told.finding) for told in active}))
            yield Raised(
                f"The {side} ovary is recorded as static or empty, and with: {names}. "
                "Say which it is.",
                (("ovary", side.value), ("structures", names)),
                tuple(told.number for told in (*resting, *active)),
            )


def _disturbs(told: Told[Ovary]) -> bool:
    """Static ovaries have follicles under the 8.5 mm of deviation."""
    small = (
        told.finding.structure is OvarianStructure.FOLLICLE and (told.finding.size_mm or 99) < 8.5
    )
    return not small


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
                f"A {name_of(absent)} ({place_of(absent)}) is recorded and also said not to be "
                "there. Say which it is.",
                (("structure", name_of(absent)),),
                (number, *present),
            )


@RULES.note("Lopez-Gatius et al. 2001 (two looks 7 days apart)")
def both_ovaries_static(facts: ExamFacts) -> Iterator[Raised]:
    """Both ovaries are static, seen once."""
    numbers = tuple(
        t.number for t in facts.ovaries if t.finding.structure is OvarianStructure.STATIC
    )
    sides = {
        side for t in facts.ovaries if t.number in numbers for side in on_sides(t.finding.side)
    }
    if len(sides) == 2 and not facts.pregnant and not corpora_lutea(facts):
        yield Raised(
            "Both ovaries static as recorded; one look may fall between two waves.",
            (("static", "both"),),
            numbers,
        )


@RULES.note(
    "Fissore et al. 1986, Anim Reprod Sci 12:167-177; Northern KZN & Midlands proceedings 2019"
)
def oedema_with_corpus_luteum(facts: ExamFacts) -> Iterator[Raised]:
    """Uterine oedema is recorded beside a corpus luteum of 20 mm or more."""
    folds = tuple(t.number for t in facts.of(Uterus) if t.finding.state is UterineState.OEDEMA)
    mature = tuple(
        t.number
        for t in facts.ovaries
        if t.finding.structure is OvarianStructure.CORPUS_LUTEUM
        and (mean_size(t.finding) or 0) >= 20
    )
    if folds and mature:
        yield Raised(
            "Oedema of the uterus beside a corpus luteum of 20 mm or more as recorded: folds go "
            "with heat, not with the middle of the cycle.",
            (),
            folds + mature,
        )
