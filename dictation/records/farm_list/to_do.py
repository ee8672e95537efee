"""What was planned in the vet's words, who is looked at again, and what only the vet can decide."""

from __future__ import annotations

from datetime import date

from dictation.decide.record import Flags
from dictation.records.ahead import signs_of_loss
from dictation.records.farm_list.part import Line, Part, by_tag, day, tag_of
from dictation.records.icar.diagnosis import is_condition
from dictation.records.settled import settled
from dictation.visit.state import Visit
from grammar.checks.plan import PEOPLE, plan_date
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
    if any(_is_luteolytic(plan) for _, _, plan in mine):
        heed = (f"{PEOPLE} {NEVER_IN_CALF}", *heed)
    title = "What the vet planned"
    return Part("plans", title, ("Plan, as said", "When"), lines, "by plan, then tag", heed)


def decisions(visit: Visit, flags: Flags) -> Part:
    """What waits for the vet: a stop of the checks, or a condition found and no plan said."""
    lines = []
    for exam in sorted(visit.exams, key=by_tag):
        words = to_decide(visit, exam, flags)
        if words:
            lines.append(Line(tag_of(exam), ("\n".join(words),)))
    title = "Needs the vet's decision"
    return Part("decision", title, ("Why",), tuple(lines), "by tag")


def to_decide(visit: Visit, exam: Exam, flags: Flags) -> list[str]:
    """Why one animal waits for the vet; empty where she does not."""
    stops = [] if visit.is_approved(exam.number) else _stops(exam, flags)
    return stops + _unplanned(settled(exam))


def doubts(visit: Visit, flags: Flags) -> Part:
    """Questions that nobody answered, and what the checks ask, by tag."""
    lines = []
    for exam in sorted(visit.exams, key=by_tag):
        words = list(exam.open_queries)
        if not visit.is_approved(exam.number):
            asked = flags.get(exam.number, ())
            words += [flag.why for flag in asked if flag.severity is Severity.QUERY]
        if words:
            lines.append(Line(tag_of(exam), ("\n".join(words),)))
    early = [query.question for query in visit.open_queries if query.exam is None]
    lines += [Line("no animal", (question,)) for question in early]
    title = "Doubts not settled"
    heed = ("Do not act on these before the vet or the recorder has settled them.",)
    return Part("doubts", title, ("Question",), tuple(lines), "by tag", heed if lines else ())


def _stops(exam: Exam, flags: Flags) -> list[str]:
    return [f.why for f in flags.get(exam.number, ()) if f.severity is Severity.STOP]


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


def _is_luteolytic(plan: Plan) -> bool:
    luteolytic = plan.treatment_class is TreatmentClass.PROSTAGLANDIN
    return luteolytic or plan.action is PlanAction.TERMINATE


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
