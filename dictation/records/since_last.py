"""What became of the last visit: who was lost since, who was asked for and not presented."""

from __future__ import annotations

from collections.abc import Iterable

from dictation.records.ahead import is_lost, result_of, settled
from dictation.records.farm_list.by_tag import is_open
from dictation.records.farm_list.part import Line, Part, by_tag, day, line_of
from dictation.records.farm_list.to_do import why
from dictation.records.plan_list import last_seen, plan
from dictation.visit.state import Visit
from grammar.exam import Exam
from grammar.facts import facts_of
from grammar.findings import PregnancyStatus

NOT_DONE = frozenset({"recheck_due", "not_presented", "breed_not_done"})
"""Rules of the plan that rest on what an earlier visit planned."""


def since_last(visit: Visit, earlier: Iterable[Exam]) -> tuple[Part, ...]:
    """The parts of the farm's list on the time since; ``earlier``: exams of the visits before."""
    if visit.on_date is None:
        return ()
    before = [exam for exam in earlier if exam.on_date < visit.on_date]
    last = last_seen(before, visit.numbers)
    lost = tuple(
        line_of(exam, (f"{day(was.on_date)}: {why(was)}", why(exam)))
        for exam in sorted(visit.exams, key=by_tag)
        if (was := last.get(exam.tag or "")) is not None and _lost(was, exam)
    )
    seen = {exam.tag for exam in visit.exams}
    missing = tuple(
        Line(each.animal.tag, ("; ".join(reasons),))
        for each in plan(visit.herd, visit.on_date, before)
        if each.animal.tag not in seen
        and (reasons := [r.why for r in each.reasons if r.rule in NOT_DONE])
    )
    return (
        Part("lost", "Lost since the last visit", ("Then", "Today"), lost, "by tag"),
        Part("missing", "Planned, and not presented today", ("What was planned",), missing),
    )


def _lost(was: Exam, now: Exam) -> bool:
    before = result_of(was, facts_of(settled(was)))
    return before == PregnancyStatus.PREGNANT and (is_open(now) or is_lost(facts_of(settled(now))))
