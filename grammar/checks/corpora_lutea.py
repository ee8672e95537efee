"""Corpora lutea beside a pregnancy: side, presence and number."""

from __future__ import annotations

from collections.abc import Iterator

from grammar.ageing.estimate import size_text
from grammar.checks.rule import COMMON_PRACTICE, Family, Raised
from grammar.checks.tract import (
    CORPORA_LUTEA,
    FLANKS,
    corpora_lutea,
    on_sides,
    ovaries_closed,
    ovaries_spoken_of,
    ovary_numbers,
)
from grammar.facts import ExamFacts
from grammar.findings import Conceptus, OvarianStructure, Ovary, Side
from grammar.plausible import OVARIAN_MM

RULES = Family("corpora lutea", Ovary)
CL_MM = OVARIAN_MM[OvarianStructure.CORPUS_LUTEUM]
_OTHER = {Side.LEFT: Side.RIGHT, Side.RIGHT: Side.LEFT}


@RULES.query(
    "over 98 % on the gravid side (general, from memory); an embryo opposite the corpus luteum "
    "survived to day 30 in 33 % (60 Holstein heifers, abstract)"
)
def corpus_luteum_on_other_side(facts: ExamFacts) -> Iterator[Raised]:
    """The only corpus luteum is on the other side than the pregnant horn."""
    if len(facts.gravid_sides) != 1 or (facts.fetuses or 1) > 1:
        return
    (horn,) = facts.gravid_sides
    counts = corpora_lutea(facts)
    if _OTHER[horn] in counts and horn not in counts and None not in counts:
        yield Raised(
            f"Pregnancy in the {horn} horn, corpus luteum only on the {_OTHER[horn]} ovary as "
            "recorded. They are on one side in nearly all pregnancies: look again at both sides.",
            (("pregnant horn", horn.value), ("corpus luteum", _OTHER[horn].value)),
            facts.status_numbers + ovary_numbers(facts, CORPORA_LUTEA),
        )


@RULES.query(
    "Kastelic, Pierson & Ginther 1990, Theriogenology (corpus luteum present to day 60 of "
    "pregnancy)"
)
def no_corpus_luteum_in_pregnancy(facts: ExamFacts) -> Iterator[Raised]:
    """Pregnant, both ovaries spoken of, no corpus luteum recorded."""
    if not facts.pregnant or corpora_lutea(facts):
        return
    if any(t.finding.structure is OvarianStructure.LUTEAL_CYST for t in facts.ovaries):
        return
    none = any(o.structure in CORPORA_LUTEA and not on_sides(o.side) for _, o in facts.absent)
    if none or ovaries_spoken_of(facts) >= set(FLANKS):
        yield Raised(
            "Pregnant as recorded, both ovaries spoken of and no corpus luteum on either. "
            "Look again at the ovaries and for a live embryo.",
            (("corpora lutea", "0"),),
            (*facts.status_numbers, *(t.number for t in (*facts.ovaries, *facts.absent))),
        )


# Half of what textbooks give as the smallest mature one, 18 to 32 mm; common practice, no source.
SMALL_CL_MM = 12.0


@RULES.query(
    "Kastelic, Pierson & Ginther 1990, Theriogenology (present to day 60); 12 mm: common practice"
)
def small_corpus_luteum_alone(facts: ExamFacts) -> Iterator[Raised]:
    """Pregnant, and the only corpus luteum recorded is under 12 mm."""
    held = [told for told in facts.ovaries if told.finding.structure in CORPORA_LUTEA]
    sizes = {told.finding.size_mm for told in held}
    size = next(iter(sizes), None) if len(sizes) == 1 else None
    # Under what any has, the size itself is asked about.
    if not facts.pregnant or size is None or not CL_MM.low <= size < SMALL_CL_MM:
        return
    if sum(corpora_lutea(facts).values()) == 1:
        yield Raised(
            f"Pregnant as recorded, and the only corpus luteum measures {size_text(size)}; "
            "those of a pregnancy are mostly 18 to 32 mm. Check the number, and look again.",
            (("size", size_text(size)), ("mature", "18 to 32 mm")),
            (*facts.status_numbers, *(told.number for told in held)),
        )


@RULES.query(
    "twins of one egg are rare (general, from memory); double ovulation 14.1 %: Fricke & "
    "Wiltbank 1999, Theriogenology 52:1133-1143"
)
def more_fetuses_than_corpora_lutea(facts: ExamFacts) -> Iterator[Raised]:
    """More fetuses than corpora lutea are recorded, and the ovaries are done with."""
    total, fetuses = sum(corpora_lutea(facts).values()), facts.fetuses or 0
    if 0 < total < fetuses and ovaries_closed(facts):
        yield Raised(
            f"{fetuses} fetuses and {total} corpus luteum as recorded. Twins of one egg are rare: "
            "look again for another corpus luteum, or count the fetuses again.",
            (("fetuses", str(fetuses)), ("corpora lutea", str(total))),
            facts.numbers(Conceptus) + ovary_numbers(facts, CORPORA_LUTEA),
        )


@RULES.note(
    "Fricke & Wiltbank 1999, Theriogenology 52:1133-1143; accessory corpora lutea: ADSA/ASAS "
    "abstract 141 (1055 cows)"
)
def more_corpora_lutea_than_fetuses(facts: ExamFacts) -> Iterator[Raised]:
    """More corpora lutea than fetuses are recorded in a pregnancy."""
    total = sum(corpora_lutea(facts).values())
    if facts.pregnant and total > (facts.fetuses or 1):
        said = "no number of fetuses" if facts.fetuses is None else f"{facts.fetuses} fetus"
        yield Raised(
            f"{total} corpora lutea and {said} as recorded: a second fetus may be there, may have "
            "been lost, or a corpus luteum may be accessory.",
            (("corpora lutea", str(total)), ("fetuses", str(facts.fetuses or "not said"))),
            facts.numbers(Conceptus) + ovary_numbers(facts, CORPORA_LUTEA),
        )


@RULES.query(COMMON_PRACTICE)
def many_corpora_lutea_on_one_ovary(facts: ExamFacts) -> Iterator[Raised]:
    """More than three corpora lutea on one ovary."""
    for side, count in corpora_lutea(facts).items():
        if count > 3:
            where = "one ovary" if side is None else f"the {side} ovary"
            yield Raised(
                f"{count} corpora lutea are recorded on {where}. Check the number; numbers that "
                "were corrected may both have stayed.",
                (("corpora lutea", str(count)),),
                ovary_numbers(facts, CORPORA_LUTEA),
            )
