"""What was planned in the vet's words, day by day, and what only the vet can decide."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from datetime import date

from dictation.decide.record import Flags
from dictation.records.ahead import is_lost, settled, signs_of_loss
from dictation.records.exam_rows import status_of
from dictation.records.farm_list.part import Part, by_tag, day, doubt_of, in_order, line_of, pen_of
from dictation.records.icar.findings import is_condition
from dictation.records.one_line import one_line
from dictation.visit.state import Visit
from grammar.checks.plan import plan_date
from grammar.checks.treatment import PEOPLE
from grammar.exam import Exam
from grammar.facts import ExamFacts, facts_of
from grammar.findings import (
    Note,
    OvarianStructure,
    Plan,
    PlanAction,
    PregnancyStatus,
    TreatmentClass,
    Uterus,
)
from grammar.history import recheck_day
from grammar.summary import summarise
from grammar.wording import spaced, written

MEDICINE = (
    "Which product, how much and how long milk and meat are held back is the vet's to say: write it"
    " in the medicine record. Follow the label and the law where you farm."
)
NEVER_IN_CALF = "Never to a cow that may be in calf, unless the vet means to end the pregnancy."
NO_DAY_OUT = "no day was said for taking it out: ask the vet"
LOOK_AGAIN = "look again"

_NOTHING_TO_DO = frozenset({PlanAction.RECHECK, PlanAction.LEAVE})


def days(visit: Visit, flags: Flags) -> tuple[Part, ...]:
    """What is to be done, a part a day; in it by pen, then by what it is, then by tag."""
    due: dict[date, list[tuple[str, str, Exam]]] = defaultdict(list)
    for exam in visit.exams:
        for on, what in tasks_of(exam):
            due[on or exam.on_date].append((pen_of(exam), what, exam))
    pens = any(pen for mine in due.values() for pen, _, _ in mine)
    columns = ("Pen",) * pens + ("What the vet said", "Why")
    parts = []
    for on in sorted(due):
        mine = sorted(due[on], key=lambda t: (in_order(t[0]), t[1], by_tag(t[2])))
        lines = tuple(
            line_of(exam, (pen,) * pens + (what, why(exam)), doubt_of(visit, exam, flags), box=True)
            for pen, what, exam in mine
        )
        parts.append(Part("to-do", _title(on, visit.on_date), columns, lines))
    return (*parts[:-1], _with_cautions(parts[-1], visit)) if parts else ()


def _with_cautions(last: Part, visit: Visit) -> Part:
    plans = [f for e in visit.exams for f in settled(e).findings if isinstance(f, Plan)]
    heed: tuple[str, ...] = ()
    if any(plan.treatment_class for plan in plans):
        heed = (MEDICINE,)
    said = {what for plan in plans for what in (plan.treatment_class, plan.action)}
    if not said.isdisjoint({TreatmentClass.PROSTAGLANDIN, PlanAction.TERMINATE}):
        heed = (f"{PEOPLE} {NEVER_IN_CALF}", *heed)
    return Part(last.name, last.title, last.columns, last.lines, last.order, heed)


def _title(on: date, visited: date | None) -> str:
    if on == visited:
        return f"{day(on)}: the day of the visit, or no day was said"
    return day(on)


def tasks_of(exam: Exam) -> Iterator[tuple[date | None, str]]:
    """What is to be done with an animal, and when; without a day where none was said."""
    plans = [f for f in settled(exam).findings if isinstance(f, Plan)]
    classes = {plan.treatment_class for plan in plans}
    for plan in plans:
        if plan.action in _NOTHING_TO_DO:
            continue
        what = kind_of(plan)
        device = plan.treatment_class is TreatmentClass.PROGESTERONE_DEVICE
        if device and TreatmentClass.DEVICE_REMOVAL not in classes:
            what = f"{what}; {NO_DAY_OUT}"
        on = plan_date(plan, exam.on_date)
        # A number of days past the calendar is still what was said.
        late = f", in {plan.in_days} days" if on is None and plan.in_days is not None else ""
        yield on, f"{what}{late}"
    again = recheck_day(settled(exam))
    if again is not None:
        yield again, LOOK_AGAIN


def decisions(visit: Visit, flags: Flags) -> Part:
    """What waits for the vet: a condition found and no plan said."""
    lines = tuple(
        line_of(exam, ("; ".join(words),), doubt_of(visit, exam, flags))
        for exam in sorted(visit.exams, key=by_tag)
        if (words := unplanned(settled(exam)))
    )
    title = "For the vet to decide: no plan was said"
    return Part("decision", title, ("What was found",), lines, "by tag")


def unplanned(exam: Exam) -> list[str]:
    """What was found that wants a plan, where none was said."""
    facts = facts_of(exam)
    if facts.of(Plan):
        return []
    conditions = conditions_of(facts)
    if not conditions and PregnancyStatus.UNCERTAIN in facts.statuses:
        conditions = ["not certain whether she is in calf"]
    return conditions


def conditions_of(facts: ExamFacts) -> list[str]:
    """What was found that is not as it should be."""
    found = [written(t.finding) for t in facts.ovaries if is_condition(t.finding)]
    found += [written(t.finding) for t in facts.of(Uterus) if is_condition(t.finding)]
    return list(dict.fromkeys(found + signs_of_loss(facts)))


def why(exam: Exam) -> str:
    """What was found that a plan rests on, as far as it is settled."""
    facts = facts_of(settled(exam))
    status, age = status_of(facts.exam), summarise(facts).age_days
    words = []
    if is_lost(facts):
        words.append("lost")
    elif status is PregnancyStatus.PREGNANT:
        words.append("in calf" if age is None or facts.ages.contradict else f"in calf {age} days")
    elif status is not None:
        words.append(str(status))
    words += [one_line(told.finding.text) for told in facts.of(Note)]
    words += conditions_of(facts)
    if status is not PregnancyStatus.PREGNANT:
        ovaries = [t.finding for t in facts.ovaries]
        seen = (o for o in ovaries if o.structure is not OvarianStructure.SMALL_FOLLICLES)
        words += [written(o) for o in seen]
    return "; ".join(dict.fromkeys(words))


def kind_of(plan: Plan) -> str:
    """A plan in the vet's words."""
    if plan.treatment_class is TreatmentClass.DEVICE_REMOVAL:
        return "take the progesterone device out"
    if plan.treatment_class is not None and plan.action is PlanAction.TREAT:
        return spaced(plan.treatment_class)
    if plan.treatment_class is not None:
        return f"{spaced(plan.action)}: {spaced(plan.treatment_class)}"
    return spaced(plan.action)
