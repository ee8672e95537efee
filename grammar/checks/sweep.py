"""What of the sweep was not spoken of when an exam closed."""

from __future__ import annotations

from collections.abc import Iterator

from grammar.checks.rule import COMMON_PRACTICE, Family, Raised
from grammar.checks.tract import on_sides
from grammar.exam import Exam
from grammar.facts import ExamFacts, facts_of
from grammar.findings import Pregnancy, Seen, SeenRemark, Side, SweepStructure, UterineState, Uterus

RULES = Family("sweep")
_HORN = {Side.LEFT: SweepStructure.LEFT_HORN, Side.RIGHT: SweepStructure.RIGHT_HORN}
_OVARY = {Side.LEFT: SweepStructure.LEFT_OVARY, Side.RIGHT: SweepStructure.RIGHT_OVARY}
_WHOLE_UTERUS = (SweepStructure.BODY, SweepStructure.LEFT_HORN, SweepStructure.RIGHT_HORN)


def unspoken(facts: ExamFacts) -> tuple[SweepStructure, ...]:
    """Stations of the sweep of which nothing was said, in the order of the sweep.

    A uterine state without a side speaks of the body and both horns; a pregnancy speaks of its
    horn. A freemartin has no tract to sweep.
    """
    spoken = {told.finding.structure for told in facts.of(Seen)}
    for _, ovary in (*facts.ovaries, *facts.absent):
        spoken.update(_OVARY[side] for side in on_sides(ovary.side))
    for _, uterus in facts.of(Uterus):
        if uterus.state is UterineState.FREEMARTIN:
            return ()
        if uterus.side is Side.BODY:
            spoken.add(SweepStructure.BODY)
        elif uterus.side is None:
            spoken.update(_WHOLE_UTERUS)
        spoken.update(_HORN[side] for side in on_sides(uterus.side))
    for _, pregnancy in facts.of(Pregnancy):
        spoken.update(_HORN[side] for side in on_sides(pregnancy.side))
    return tuple(structure for structure in SweepStructure if structure not in spoken)


def unspoken_structures(exam: Exam) -> tuple[SweepStructure, ...]:
    """As ``unspoken``, of an exam."""
    return unspoken(facts_of(exam))


def not_seen_structures(exam: Exam) -> tuple[SweepStructure, ...]:
    """Stations that the vet said were not seen or could not be reached, in sweep order."""
    missed = {
        told.finding.structure
        for told in facts_of(exam).of(Seen)
        if told.finding.remark in (SeenRemark.NOT_SEEN, SeenRemark.COULD_NOT_REACH)
    }
    return tuple(structure for structure in SweepStructure if structure in missed)


@RULES.note(COMMON_PRACTICE)
def sweep_not_complete(facts: ExamFacts) -> Iterator[Raised]:
    """When an exam closes: stations of the sweep of which nothing was said."""
    if not facts.exam.closed:
        return
    names = [structure.value.replace("_", " ") for structure in unspoken(facts)]
    if names:
        yield Raised(
            f"Nothing was said of: {', '.join(names)}. Silence is kept as not stated.",
            (("not spoken of", ", ".join(names)),),
        )
