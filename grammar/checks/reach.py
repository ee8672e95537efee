"""Open, where the hand or the probe did not reach all of the tract."""

from __future__ import annotations

from collections.abc import Iterator

from grammar.checks.rule import Family, Raised
from grammar.facts import ExamFacts
from grammar.findings import (
    Lie,
    Plan,
    PlanAction,
    Pregnancy,
    Seen,
    SeenRemark,
    SweepStructure,
    TractLie,
    TreatmentClass,
)
from grammar.wording import spaced, written

RULES = Family("reach", Lie, Seen)
FAR_FORWARD = (
    "Vet Q 1995 17:37-9 (more false opens where the uterus lies far forward of the pelvic inlet)"
)


def out_of_reach(facts: ExamFacts) -> tuple[str, tuple[int, ...]]:
    """What of the tract lay far forward or was missed, in words, and the findings that say so."""
    missed = [told for told in facts.of(Seen) if _missed(told.finding)]
    far = [told for told in facts.of(Lie) if told.finding.where is not TractLie.PELVIC]
    reasons = [f"the tract was {written(told.finding)}" for told in far]
    if missed:
        places = " and ".join(dict.fromkeys(spaced(t.finding.structure) for t in missed))
        reasons.append(f"the vet could not reach or see the {places}")
    return "; ".join(reasons), (*(t.number for t in far), *(t.number for t in missed))


def _missed(seen: Seen) -> bool:
    unseen = seen.remark in (SeenRemark.COULD_NOT_REACH, SeenRemark.NOT_SEEN)
    return unseen and seen.structure is not SweepStructure.CERVIX


@RULES.query(FAR_FORWARD)
def open_out_of_reach(facts: ExamFacts) -> Iterator[Raised]:
    """Open is recorded of an animal whose tract lay over the brim, was drawn back or could not be,
    or of which a horn or ovary was not reached, and she is not to be looked at again. Where
    prostaglandin is planned, it is asked with that."""
    reasons, numbers = out_of_reach(facts)
    if not reasons or not facts.open or facts.numbers(Plan, _settles):
        return
    yield Raised(
        f"Open, but {reasons}: opens are called falsely more often then. Say whether she is surely "
        "open, or when to look again.",
        (("not sure because", reasons),),
        (*facts.numbers(Pregnancy), *numbers),
    )


def _settles(plan: Plan) -> bool:
    treated = plan.treatment_class is TreatmentClass.PROSTAGLANDIN
    return treated or plan.action is PlanAction.RECHECK
