"""What the vet means to do, beside what is recorded. Never a proposal, a product or a dose."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from grammar.ageing.estimate import days_text
from grammar.checks.pregnancy import SERVICE_SOONEST_DAYS, SERVICE_SOURCE, first_days
from grammar.checks.rule import COMMON_PRACTICE, Family, Raised
from grammar.dating.calving import DRY_PERIOD_SOURCE, ROMANO
from grammar.dating.days import age_on, days_before
from grammar.dating.services import service_text
from grammar.facts import ExamFacts, Told
from grammar.findings import Plan, PlanAction, Pregnancy, PregnancyStatus
from grammar.summary import gestation, summarise
from grammar.wording import spaced

RULES = Family("plan", Plan, Pregnancy)


def plan_date(plan: Plan, on: date) -> date | None:
    """The day of a plan; None where none was said or it lies past the calendar."""
    if plan.on_date is not None or plan.in_days is None:
        return plan.on_date
    return days_before(on, -plan.in_days)


def planned(facts: ExamFacts, action: PlanAction) -> tuple[Told[Plan], ...]:
    """The plans of this kind."""
    return tuple(told for told in facts.of(Plan) if told.finding.action is action)


_AGAINST: tuple[tuple[PlanAction, PlanAction], ...] = (
    (PlanAction.BREED, PlanAction.DO_NOT_BREED),
    (PlanAction.BREED, PlanAction.CULL),
    (PlanAction.LEAVE, PlanAction.TREAT),
)


@RULES.query(COMMON_PRACTICE)
def plans_contradict(facts: ExamFacts) -> Iterator[Raised]:
    """Breed and do not breed, breed and cull, or leave and treat."""
    if len(facts.of(Plan)) < 2:
        return
    for one, other in _AGAINST:
        ones, others = planned(facts, one), planned(facts, other)
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
    if last is None or facts.pregnant or facts.bull_with_her:
        return
    _, sure = first_days(facts)
    for number, plan in planned(facts, PlanAction.RECHECK):
        day = plan_date(plan, facts.on)
        if day is None or day <= facts.on:
            continue
        after = age_on(last.until(facts.on), day)
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
    rechecks = planned(facts, PlanAction.RECHECK)
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
    plans = planned(facts, PlanAction.DRY_OFF)
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
    plans = planned(facts, PlanAction.DRY_OFF)
    if plans and facts.open:
        yield Raised(
            "To be dried off, and recorded open. Check the status.",
            (("status", "open"),),
            (*facts.status_numbers, *(t.number for t in plans)),
        )


@RULES.query(SERVICE_SOURCE)
def breeding_soon_after_calving(facts: ExamFacts) -> Iterator[Raised]:
    """She is to be bred less than 30 days after calving."""
    calved = facts.days_calved
    for number, plan in planned(facts, PlanAction.BREED):
        day = plan_date(plan, facts.on) or facts.on
        days = None if calved is None else calved + age_on(facts.on, day)
        if days is not None and days < SERVICE_SOONEST_DAYS and not facts.pregnant:
            yield Raised(
                f"To be bred {days} days after calving; the uterus is usually ready after 30 to "
                "40. Check the calving date, or the plan.",
                (("after calving", f"{days} d"),),
                (number,),
            )


# Council Regulation (EC) No 1/2005, Annex I, chapter I, 2(c).
FIT_FOR_ROAD = 0.9


@RULES.query("Council Regulation (EC) No 1/2005, Annex I, chapter I, 2(c)")
def not_fit_for_transport(facts: ExamFacts) -> Iterator[Raised]:
    """She is to leave past nine tenths of the pregnancy, or within a week of calving."""
    plans, age, calved = planned(facts, PlanAction.CULL), facts.ages.best, facts.days_calved
    if not plans:
        return
    limit = FIT_FOR_ROAD * gestation(facts).mean_days
    late = facts.pregnant and age is not None and age.days >= limit
    if late or (calved is not None and calved <= 7):
        days = (
            f"{days_text(age.days)} days in calf" if late and age else f"calved {calved} days ago"
        )
        yield Raised(
            f"To leave the herd, {days}: from nine tenths of the pregnancy (day {limit:.0f}) to a "
            "week after calving the European Union holds her unfit for transport. Elsewhere the "
            "local law says. Check the plan and the day.",
            (("state", days), ("limit", f"day {limit:.0f}")),
            (*facts.status_numbers, *(told.number for told in plans)),
        )
