"""Plans that would end a corpus luteum, and with it a pregnancy."""

from __future__ import annotations

from collections.abc import Iterator

from grammar.checks.pregnancy import signs
from grammar.checks.rule import Family, Raised
from grammar.checks.tract import FLANKS, corpora_lutea, ovaries_spoken_of, ovary_numbers
from grammar.facts import ExamFacts, Told
from grammar.findings import OvarianStructure, Plan, PlanAction, PregnancyStatus, TreatmentClass
from grammar.wording import spaced

RULES = Family("plan")
#: Said with every flag on prostaglandin: 21 CFR 522.46 and 522.914.
PEOPLE = (
    "Prostaglandin is absorbed through the skin: women of child-bearing age and people with asthma "
    "take great care, and wash at once."
)
LAW = "under the local law and the vet's licence"
_CFR = "21 CFR 522.914 and 522.46 (US) and UK authorised literature for the class"


def planned(facts: ExamFacts, *actions: PlanAction) -> tuple[Told[Plan], ...]:
    """Plans of these actions."""
    return tuple(told for told in facts.of(Plan) if told.finding.action in actions)


def _treated_with(facts: ExamFacts, treatment: TreatmentClass) -> tuple[int, ...]:
    return facts.numbers(Plan, lambda plan: plan.treatment_class is treatment)


def _ends(plan: Plan) -> bool:
    """Whether a plan means to end a corpus luteum or a pregnancy."""
    terminates = plan.action is PlanAction.TERMINATE
    return terminates or plan.treatment_class is TreatmentClass.PROSTAGLANDIN


def _carrying(facts: ExamFacts) -> bool:
    """Recorded pregnant, or nothing said of it beside findings of a pregnancy."""
    return facts.pregnant or (not facts.statuses and bool(signs(facts)))


@RULES.stop(_CFR)
def plan_would_end_pregnancy(facts: ExamFacts) -> Iterator[Raised]:
    """Prostaglandin or ending the pregnancy is said once of an animal recorded pregnant."""
    said = facts.numbers(Plan, _ends)
    if len(said) == 1 and _carrying(facts):
        yield Raised(
            "This animal is recorded pregnant, and the plan would end the pregnancy. Say it a "
            f"second time if that is meant; else scratch it. {PEOPLE}",
            (("status", "pregnant"), ("said", "once")),
            said + facts.status_numbers,
        )


@RULES.query(_CFR)
def prostaglandin_twice_in_pregnancy(facts: ExamFacts) -> Iterator[Raised]:
    """Prostaglandin was said twice of a pregnant animal, ending the pregnancy was not said."""
    said = facts.numbers(Plan, _ends)
    if len(said) > 1 and _carrying(facts) and not planned(facts, PlanAction.TERMINATE):
        yield Raised(
            "Prostaglandin is recorded twice of an animal recorded pregnant, and ending the "
            f"pregnancy was not said in words. To be confirmed by the vet. {PEOPLE}",
            (("status", "pregnant"), ("said", f"{len(said)} times")),
            said + facts.status_numbers,
        )


@RULES.note(_CFR)
def termination_stated(facts: ExamFacts) -> Iterator[Raised]:
    """Ending the pregnancy was said in words, and the intention said twice."""
    said = facts.numbers(Plan, _ends)
    if len(said) > 1 and _carrying(facts) and planned(facts, PlanAction.TERMINATE):
        yield Raised(
            f"Ending the pregnancy is recorded as the vet's plan, {LAW}. {PEOPLE}",
            (("said", f"{len(said)} times"),),
            said + facts.status_numbers,
        )


@RULES.query(_CFR)
def prostaglandin_and_status_unsettled(facts: ExamFacts) -> Iterator[Raised]:
    """Prostaglandin is planned and the pregnancy status is uncertain or not said."""
    said = _treated_with(facts, TreatmentClass.PROSTAGLANDIN)
    uncertain = facts.statuses == {PregnancyStatus.UNCERTAIN}
    silent = facts.exam.closed and not facts.statuses and not signs(facts)
    if said and (uncertain or silent):
        status = "uncertain" if uncertain else "not said"
        yield Raised(
            f"Prostaglandin is planned, and whether she is pregnant is {status}. Say it first. "
            f"{PEOPLE}",
            (("status", status),),
            said + facts.status_numbers,
        )


@RULES.note("UK authorised literature for the class (none in the first 4-5 days)")
def prostaglandin_without_corpus_luteum(facts: ExamFacts) -> Iterator[Raised]:
    """Prostaglandin is planned, both ovaries are spoken of, and none has a mature corpus luteum."""
    said = _treated_with(facts, TreatmentClass.PROSTAGLANDIN)
    kinds = (OvarianStructure.CORPUS_LUTEUM, OvarianStructure.LUTEAL_CYST)
    mature = ovary_numbers(facts, kinds)
    if said and not mature and not facts.pregnant and ovaries_spoken_of(facts) >= set(FLANKS):
        young = "only a young one" if corpora_lutea(facts) else "none"
        yield Raised(
            f"Prostaglandin is planned and of corpora lutea {young} is recorded; print gives no "
            f"response in the first 5 days after ovulation. {PEOPLE}",
            (("corpora lutea", young),),
            said,
        )


@RULES.note(f"general law; {_CFR}")
def treatment_by_class(facts: ExamFacts) -> Iterator[Raised]:
    """Treatments are kept in the vet's words and by generic class."""
    treated = facts.numbers(Plan, lambda plan: plan.treatment_class)
    if not treated:
        return
    classes = {plan.treatment_class for _, plan in facts.of(Plan) if plan.treatment_class}
    names = ", ".join(sorted(map(spaced, classes)))
    caution = f" {PEOPLE}" if _treated_with(facts, TreatmentClass.PROSTAGLANDIN) else ""
    yield Raised(
        f"Recorded in the vet's words and by class only ({names}), {LAW}; product, dose and "
        f"withdrawal belong in the medicine record.{caution}",
        (("class", names),),
        treated,
    )
