"""Treatments the vet names, beside what is recorded. Never a proposal, a product or a dose."""

from __future__ import annotations

from collections.abc import Iterator

from grammar.checks.plan import planned
from grammar.checks.pregnancy import days_since_service, first_days, signs
from grammar.checks.reach import FAR_FORWARD, out_of_reach
from grammar.checks.rule import COMMON_PRACTICE, Family, Raised
from grammar.checks.tract import FLANKS, corpora_lutea, ovaries_spoken_of, ovary_numbers
from grammar.dating.calving import ROMANO
from grammar.dating.services import service_text
from grammar.facts import ExamFacts
from grammar.findings import (
    Note,
    OvarianStructure,
    Plan,
    PlanAction,
    PregnancyStatus,
    TreatmentClass,
    UterineState,
    Uterus,
)
from grammar.wording import spaced

RULES = Family("treatment", Plan)
#: Said once a visit and with the stop: 21 CFR 522.690(c)(2), version of 2013.
PEOPLE = (
    "Prostaglandin is absorbed through the skin: women of child-bearing age and people with asthma "
    "take great care, and wash at once."
)
LAW = "under the local law, which decides, and the vet's licence"
_CFR = (
    "21 CFR 522.460 (ends a pregnancy from a week after mating to 5 months) and 522.690 (US), UK "
    "authorised literature for the class; the local law decides"
)
_INSERT = "21 CFR 529.1940 (US); the local law and label decide"
_MEANT_FOR_OPEN: dict[TreatmentClass, str] = {
    TreatmentClass.SYNCHRONISATION: "synchronisation",
    TreatmentClass.PROGESTERONE_DEVICE: "a progesterone device",
    TreatmentClass.INTRAUTERINE: "an intrauterine treatment",
}
INSERT_FROM_DAY = 20
_INFECTED = frozenset(
    {
        UterineState.ENDOMETRITIS,
        UterineState.METRITIS,
        UterineState.PYOMETRA,
        UterineState.CLOUDY_FLUID,
        UterineState.PUS,
        UterineState.DIRTY,
        UterineState.WHITES,
    }
)
_ABNORMAL = frozenset({UterineState.SEGMENT_MISSING, UterineState.FREEMARTIN})
_REMARKS = frozenset({"infantile tract", "immature tract", "purulent discharge"})


def _prostaglandin(plan: Plan) -> bool:
    return plan.treatment_class is TreatmentClass.PROSTAGLANDIN


def _ends(plan: Plan) -> bool:
    """Whether a plan means to end a corpus luteum or a pregnancy."""
    return plan.action is PlanAction.TERMINATE or _prostaglandin(plan)


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
            "pregnancy was not said in words. To be confirmed by the vet.",
            (("status", "pregnant"), ("said", f"{len(said)} times")),
            said + facts.status_numbers,
        )


@RULES.note(_CFR)
def termination_stated(facts: ExamFacts) -> Iterator[Raised]:
    """Ending the pregnancy was said in words, and the intention said twice."""
    said = facts.numbers(Plan, _ends)
    if len(said) > 1 and _carrying(facts) and planned(facts, PlanAction.TERMINATE):
        yield Raised(
            f"Ending the pregnancy is recorded as the vet's plan, {LAW}.",
            (("said", f"{len(said)} times"),),
            said + facts.status_numbers,
        )


@RULES.query(_CFR)
def prostaglandin_and_status_unsettled(facts: ExamFacts) -> Iterator[Raised]:
    """Prostaglandin is planned and the pregnancy status is uncertain or not said."""
    said = facts.numbers(Plan, _prostaglandin)
    uncertain = facts.statuses == {PregnancyStatus.UNCERTAIN}
    silent = facts.exam.closed and not facts.statuses and not signs(facts)
    if said and (uncertain or silent):
        status = "uncertain" if uncertain else "not said"
        yield Raised(
            f"Prostaglandin is planned, and whether she is pregnant is {status}. Say it first.",
            (("status", status),),
            said + facts.status_numbers,
        )


@RULES.query(f"{ROMANO}; {FAR_FORWARD}; {_CFR}")
def prostaglandin_and_open_not_sure(facts: ExamFacts) -> Iterator[Raised]:
    """Prostaglandin is planned of an animal called open when open could not yet be told: too soon
    after a service, a horn or ovary not reached, or the bull still with her."""
    said = facts.numbers(Plan, _prostaglandin)
    if not said or not facts.open or _carrying(facts):
        return
    far, missed = out_of_reach(facts)
    why = [reason for reason in (_too_soon(facts), _bull(facts), far) if reason]
    if why:
        reasons = "; ".join(why)
        yield Raised(
            f"Open, and prostaglandin is planned, but {reasons}. A pregnancy that was not seen "
            "would end. Say whether she is surely open.",
            (("not sure because", reasons),),
            (*said, *facts.status_numbers, *missed),
        )


def _too_soon(facts: ExamFacts) -> str:
    last, days = facts.last_service, days_since_service(facts)
    _, sure = first_days(facts)
    if last is None or days is None or facts.bull_with_her or days >= sure:
        return ""
    return (
        f"it is {days} days after the service of {service_text(last)}, and before day {sure} "
        "ultrasound misses some pregnancies"
    )


def _bull(facts: ExamFacts) -> str:
    return "the bull is still with her as listed" if facts.bull_with_her else ""


@RULES.note("UK authorised literature for the class (none in the first 4-5 days); 21 CFR 522.690")
def prostaglandin_without_corpus_luteum(facts: ExamFacts) -> Iterator[Raised]:
    """Prostaglandin is planned, both ovaries are spoken of, and none has a mature corpus luteum."""
    said = facts.numbers(Plan, _prostaglandin)
    kinds = (OvarianStructure.CORPUS_LUTEUM, OvarianStructure.LUTEAL_CYST)
    mature = ovary_numbers(facts, kinds)
    if said and not mature and not facts.pregnant and ovaries_spoken_of(facts) >= set(FLANKS):
        young = "only a young one" if corpora_lutea(facts) else "none"
        yield Raised(
            f"Prostaglandin is planned and of corpora lutea {young} is recorded; it works only on "
            "one that ovulated 5 days ago or more.",
            (("corpora lutea", young),),
            said,
        )


@RULES.query(_INSERT)
def insert_against_its_label(facts: ExamFacts) -> Iterator[Raised]:
    """A progesterone insert in an infected, abnormal or immature tract, or soon after calving."""
    said = facts.numbers(
        Plan, lambda plan: plan.treatment_class is TreatmentClass.PROGESTERONE_DEVICE
    )
    if not said or facts.pregnant:  # of a pregnant animal the plan itself is asked about
        return
    states = [t for t in facts.of(Uterus) if t.finding.state in _INFECTED | _ABNORMAL]
    remarks = [t for t in facts.of(Note) if t.finding.text in _REMARKS]
    why = [spaced(t.finding.state) for t in states] + [t.finding.text for t in remarks]
    calved = facts.days_calved
    if calved is not None and calved < INSERT_FROM_DAY:
        why.append(f"{calved} days after calving")
    if why:
        reasons = ", ".join(dict.fromkeys(why))
        yield Raised(
            f"A progesterone insert is planned, with: {reasons}. An open label (21 CFR 529.1940) "
            "excludes infected, abnormal and immature tracts, and beef cows under 20 days after "
            "calving. Look at the label in use.",
            (("with", reasons),),
            (*said, *(t.number for t in states), *(t.number for t in remarks)),
        )


@RULES.note(f"general law; {_CFR}; people: 21 CFR 522.690(c)(2), version of 2013")
def treatment_by_class(facts: ExamFacts) -> Iterator[Raised]:
    """Treatments are kept in the vet's words and by generic class; said once a visit."""
    treated = facts.numbers(Plan, lambda plan: plan.treatment_class)
    if not treated:
        return
    classes = {plan.treatment_class for _, plan in facts.of(Plan) if plan.treatment_class}
    caution = f" {PEOPLE}" if facts.numbers(Plan, _prostaglandin) else ""
    yield Raised(
        f"Recorded in the vet's words and by class only, {LAW}; product, dose and withdrawal "
        f"belong in the medicine record.{caution}",
        (("class", ", ".join(sorted(map(spaced, classes)))),),
        treated,
    )


@RULES.query(COMMON_PRACTICE)
def plan_for_an_open_cow_in_pregnancy(facts: ExamFacts) -> Iterator[Raised]:
    """Service, synchronisation, a device or an intrauterine treatment in a pregnant animal."""
    breed = planned(facts, PlanAction.BREED)
    others = [t for t in facts.of(Plan) if t.finding.treatment_class in _MEANT_FOR_OPEN]
    if facts.pregnant and (breed or others):
        names = {"service"} if breed else set()
        names |= {_MEANT_FOR_OPEN[c] for t in others if (c := t.finding.treatment_class)}
        listed = ", ".join(sorted(names))
        yield Raised(
            f"Recorded pregnant, and the plan is {listed}. Say which it is.",
            (("status", "pregnant"), ("plan", listed)),
            (*facts.status_numbers, *(t.number for t in (*breed, *others))),
        )
