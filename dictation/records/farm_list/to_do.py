"""What was planned in the vet's words, who is looked at again, and what only the vet can decide."""

from __future__ import annotations

from datetime import date

from dictation.decide.record import Flags
from dictation.records.ahead import settled, signs_of_loss
from dictation.records.farm_list.part import Line, Part, by_tag, day, tag_of, worded
from dictation.records.icar.findings import is_condition
from dictation.visit.state import Visit
from grammar.checks.plan import plan_date
from grammar.checks.treatment import PEOPLE
from grammar.exam import Exam, Severity
from grammar.facts import facts_of
from grammar.findings import Plan, PlanAction, PregnancyStatus, TreatmentClass, Uterus
from grammar.history import recheck_day
from grammar.wording import spaced, written

MEDICINE = (
    "Which product, how much and how long milk and meat are held back is the vet's to say: write it"
    " in the medicine record. Follow the label and the law where you farm."
)
NEVER_IN_CALF = "Never to a cow that may be in calf, unless the vet means to end the pregnancy."


def rechecks(exams: tuple[Exam, ...]) -> Part:
    """Who is to be looked at again, by day."""
    mine = [(on, exam) for exam in exams if (on := recheck_day(settled(exam))) is not None]
    mine.sort(key=lambda pair: (pair[0], by_tag(pair[1])))
    lines = tuple(Line(tag_of(exam), (day(on), _in(on, exam), _now(exam))) for on, exam in mine)
    return Part("recheck", "Look again", ("On", "In", "Now"), lines, "by day")


def plans(exams: tuple[Exam, ...]) -> Part:
    """Treatments and other plans, those of one kind together."""
    mine = [
        (_kind(finding), exam, finding)
        for exam in exams
        for finding in settled(exam).findings
        if isinstance(finding, Plan) and finding.action is not PlanAction.RECHECK
    ]
    mine.sort(key=lambda each: (each[0], by_tag(each[1])))
    lines = tuple(Line(tag_of(exam), (kind, _when(plan, exam))) for kind, exam, plan in mine)
    heed: tuple[str, ...] = ()
    if any(plan.treatment_class for _, _, plan in mine):
        heed = (MEDICINE,)
    said = {what for _, _, plan in mine for what in (plan.treatment_class, plan.action)}
    if not said.isdisjoint({TreatmentClass.PROSTAGLANDIN, PlanAction.TERMINATE}):
        heed = (f"{PEOPLE} {NEVER_IN_CALF}", *heed)
    title = "What the vet planned"
    return Part("plans", title, ("Plan, as said", "When"), lines, "by plan, then tag", heed)


def decisions(visit: Visit, flags: Flags) -> Part:
    """What waits for the vet: a stop of the checks, or a condition found and no plan said."""
    lines = worded((exam, to_decide(visit, exam, flags)) for exam in visit.exams)
    return Part("decision", "Needs the vet's decision", ("Why",), lines, "by tag")


def to_decide(visit: Visit, exam: Exam, flags: Flags) -> list[str]:
    """Why one animal waits for the vet; empty where she does not."""
    return _flagged(visit, exam, flags, Severity.STOP) + _unplanned(settled(exam))


def doubts(visit: Visit, flags: Flags) -> Part:
    """Questions that nobody answered, and what the checks ask, by tag."""
    asked = (
        (exam, [*exam.open_queries, *_flagged(visit, exam, flags, Severity.QUERY)])
        for exam in visit.exams
    )
    early = (query.question for query in visit.open_queries if query.exam is None)
    lines = (*worded(asked), *(Line("no animal", (question,)) for question in early))
    heed = ("Do not act on these before the vet or the recorder has settled them.",)
    columns = ("Question",)
    return Part("doubts", "Doubts not settled", columns, lines, "by tag", heed if lines else ())


def _flagged(visit: Visit, exam: Exam, flags: Flags, severity: Severity) -> list[str]:
    """What the checks say; nothing where she is approved."""
    if visit.is_approved(exam.number):
        return []
    return [flag.why for flag in flags.get(exam.number, ()) if flag.severity is severity]


def _unplanned(exam: Exam) -> list[str]:
    facts = facts_of(exam)
    if facts.of(Plan):
        return []
    conditions = [written(t.finding) for t in facts.ovaries if is_condition(t.finding)]
    conditions += [written(t.finding) for t in facts.of(Uterus) if is_condition(t.finding)]
    conditions += signs_of_loss(facts)
    if not conditions and PregnancyStatus.UNCERTAIN in facts.statuses:
        conditions = ["not certain whether she is in calf"]
    return [f"{', '.join(dict.fromkeys(conditions))}: no plan was said"] if conditions else []


def _kind(plan: Plan) -> str:
    if plan.treatment_class is not None and plan.action is PlanAction.TREAT:
        return spaced(plan.treatment_class)
    if plan.treatment_class is not None:
        return f"{spaced(plan.action)}: {spaced(plan.treatment_class)}"
    return spaced(plan.action)


def _when(plan: Plan, exam: Exam) -> str:
    on = plan_date(plan, exam.on_date)
    if on is not None:
        return day(on)
    return "" if plan.in_days is None else f"in {plan.in_days} days"


def _in(on: date, exam: Exam) -> str:
    days = (on - exam.on_date).days
    return "today" if days == 0 else f"{days} day{'' if days == 1 else 's'}"


def _now(exam: Exam) -> str:
    facts = facts_of(settled(exam))
    words = sorted(str(status) for status in facts.statuses) + signs_of_loss(facts)
    return ", ".join(words) or "not said"
