"""What the vet means to do, beside what is recorded. Never a proposal, a product or a dose."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from grammar.checks.pregnancy import first_days, signs
from grammar.checks.rule import COMMON_PRACTICE, Family, Raised
from grammar.checks.tract import FLANKS, corpora_lutea, ovaries_spoken_of, ovary_numbers
from grammar.dating.calving import DRY_PERIOD_SOURCE, ROMANO
from grammar.dating.days import age_on, days_before
from grammar.dating.services import service_text
from grammar.facts import ExamFacts, Told
from grammar.findings import OvarianStructure, Plan, PlanAction, PregnancyStatus, TreatmentClass
from grammar.summary import summarise
from grammar.wording import spaced

RULES = Family("plan")
#: Said with every flag on prostaglandin: 21 CFR 522.46 and 522.914.
PEOPLE = (
    "Prostaglandin is absorbed through the skin: women of child-bearing age and people with asthma "
    "take great care, and wash at once."
)
LAW = "under the local law and the vet's licence"
_CFR = "21 CFR 522.914 and 522.46 (US) and UK authorised literature for the class"
_MEANT_FOR_OPEN: dict[TreatmentClass, str] = {
    TreatmentClass.SYNCHRONISATION: "synchronisation",
    TreatmentClass.PROGESTERONE_DEVICE: "a progesterone device",
    TreatmentClass.INTRAUTERINE: "an intrauterine treatment",
}


def plan_date(plan: Plan, on: date) -> date | None:
    """The day of a plan; None where none was said or it lies past the calendar."""
    if plan.on_date is not None or plan.in_days is None:
        return plan.on_date
    return days_before(on, -plan.in_days)


def _planned(facts: ExamFacts, action: PlanAction) -> tuple[Told[Plan], ...]:
    return tuple(told for told in facts.of(Plan) if told.finding.action is action)


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
    if len(said) > 1 and _carrying(facts) and not _planned(facts, PlanAction.TERMINATE):
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
    if len(said) > 1 and _carrying(facts) and _planned(facts, PlanAction.TERMINATE):
        yield Raised(
            f"Ending the pregnancy is recorded as the vet's plan, {LAW}. {PEOPLE}",
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
            f"Prostaglandin is planned, and whether she is pregnant is {status}. Say it first. "
            f"{PEOPLE}",
            (("status", status),),
            said + facts.status_numbers,
        )


@RULES.note("UK authorised literature for the class (none in the first 4-5 days)")
def prostaglandin_without_corpus_luteum(facts: ExamFacts) -> Iterator[Raised]:
    """Prostaglandin is planned, both ovaries are spoken of, and none has a mature corpus luteum."""
    said = facts.numbers(Plan, _prostaglandin)
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
    caution = f" {PEOPLE}" if facts.numbers(Plan, _prostaglandin) else ""
    yield Raised(
        f"Recorded in the vet's words and by class only ({names}), {LAW}; product, dose and "
        f"withdrawal belong in the medicine record.{caution}",
        (("class", names),),
        treated,
    )


@RULES.query(COMMON_PRACTICE)
def plan_for_an_open_cow_in_pregnancy(facts: ExamFacts) -> Iterator[Raised]:
    """Service, synchronisation, a device or an intrauterine treatment in a pregnant animal."""
    breed = _planned(facts, PlanAction.BREED)
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


_AGAINST: tuple[tuple[PlanAction, PlanAction], ...] = (
    (PlanAction.BREED, PlanAction.DO_NOT_BREED),
    (PlanAction.BREED, PlanAction.CULL),
    (PlanAction.LEAVE, PlanAction.TREAT),
)


@RULES.query(COMMON_PRACTICE)
def plans_contradict(facts: ExamFacts) -> Iterator[Raised]:
    """Breed and do not breed, breed and cull, or leave and treat."""
    for one, other in _AGAINST:
        ones, others = _planned(facts, one), _planned(facts, other)
        if ones and others:
            names = f"{spaced(one)} and {spaced(other)}"
            yield Raised(
                f"The plan is both {names}. Say which it is.",
                (("plan", names),),
                tuple(t.number for t in (*ones, *others)),
            )


@RULES.query(ROMANO)
def recheck_too_early(facts: ExamFacts) -> Iterator[Raised]:
    """A recheck falls before a pregnancy of the last service is surely seen."""
    last = facts.last_service
    if last is None or facts.pregnant:
        return
    _, sure = first_days(facts)
    for number, plan in _planned(facts, PlanAction.RECHECK):
        day = plan_date(plan, facts.on)
        if day is None or day <= facts.on:
            continue
        after = age_on(last.last_day or last.first_day, day)
        if 0 <= after < sure:
            yield Raised(
                f"The recheck on {day.isoformat()} falls {after} days after the service of "
                f"{service_text(last)}; a pregnancy is surely seen from day {sure}. "
                "Check the date.",
                (
                    ("recheck", day.isoformat()),
                    ("days after service", str(after)),
                    ("sure from", f"day {sure}"),
                ),
                (number,),
            )


@RULES.query("arithmetic")
def plan_before_exam(facts: ExamFacts) -> Iterator[Raised]:
    """A plan is dated before the exam."""
    for number, plan in facts.of(Plan):
        if plan.on_date is not None and plan.on_date < facts.on:
            yield Raised(
                f"The plan is dated {plan.on_date.isoformat()}, before this exam "
                f"({facts.on.isoformat()}). Check the date.",
                (("plan", plan.on_date.isoformat()), ("exam", facts.on.isoformat())),
                (number,),
            )


@RULES.query("Norman et al. 2009, J Dairy Sci 92:2259-2269 and the other gestation lengths")
def recheck_after_calving(facts: ExamFacts) -> Iterator[Raised]:
    """A recheck falls after the latest likely day of calving."""
    rechecks = _planned(facts, PlanAction.RECHECK)
    due = summarise(facts).due if rechecks else None
    for number, plan in rechecks:
        day = plan_date(plan, facts.on)
        if due is not None and day is not None and day > due.latest:
            yield Raised(
                f"The recheck on {day.isoformat()} falls after she is due "
                f"({due.on.isoformat()}, {due.latest.isoformat()} at the latest). Check the date.",
                (("recheck", day.isoformat()), ("due", due.on.isoformat())),
                (number,),
            )


@RULES.note("common practice (general, from memory)")
def uncertain_without_recheck(facts: ExamFacts) -> Iterator[Raised]:
    """An exam closes uncertain and with no plan."""
    if facts.exam.closed and facts.statuses == {PregnancyStatus.UNCERTAIN} and not facts.of(Plan):
        yield Raised(
            "Uncertain, and nothing planned. A second look 7 to 14 days later is usual.",
            (("usual", "7 to 14 days later"),),
            facts.status_numbers,
        )


@RULES.query(DRY_PERIOD_SOURCE)
def dry_period_unusual(facts: ExamFacts) -> Iterator[Raised]:
    """Drying off lies less than 30 or more than 90 days before she is due."""
    plans = _planned(facts, PlanAction.DRY_OFF)
    due = summarise(facts).due if plans else None
    for number, plan in plans:
        day = plan_date(plan, facts.on) or facts.on
        if due is None:
            continue
        # Outside even when she calves at the nearer end of what is likely.
        if (due.latest - day).days < 30 or (due.earliest - day).days > 90:
            dry = (due.on - day).days
            yield Raised(
                f"Drying off on {day.isoformat()} is {dry} days before she is due "
                f"({due.on.isoformat()}); 50 to 60 is usual. Check the dates.",
                (("dry period", f"{dry} d"), ("due", due.on.isoformat())),
                (number,),
            )


@RULES.note(COMMON_PRACTICE)
def dry_off_and_open(facts: ExamFacts) -> Iterator[Raised]:
    """An animal recorded open is to be dried off."""
    plans = _planned(facts, PlanAction.DRY_OFF)
    if plans and facts.open:
        yield Raised(
            "To be dried off, and recorded open. Check the status.",
            (("status", "open"),),
            (*facts.status_numbers, *(t.number for t in plans)),
        )
