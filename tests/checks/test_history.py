"""An animal beside her earlier exams, and a herd beside its earlier visits."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

from grammar.findings import OvarianStructure, Ovary, Plan, PlanAction
from grammar.history import missed_rechecks, recheck_day, with_earlier
from tests.checks.exams import (
    LEFT,
    ON,
    OPEN,
    UNCERTAIN,
    before,
    exam,
    flag_of,
    pregnant,
    rules_of,
)

CYST = Ovary(LEFT, OvarianStructure.CYST, 30)


def test_earlier_exams_are_joined_by_tag_and_only_from_before() -> None:
    today = [exam(OPEN), replace(exam(OPEN, tag="412"), number=2)]
    visits = [[before(40, pregnant(45)), exam(UNCERTAIN)], [before(20, OPEN)]]
    joined = with_earlier(today, visits)
    assert [(ON - e.on_date).days for e in joined[0].earlier] == [40, 20]
    assert joined[1].earlier == ()


def test_exams_without_a_tag_have_no_history() -> None:
    unknown = exam(OPEN, tag=None)
    assert with_earlier([unknown], [[before(9, OPEN)]])[0].earlier == ()


def test_an_age_advances_across_a_leap_day() -> None:
    then = exam(pregnant(45), on=date(2028, 2, 20))
    now = exam(pregnant(55), on=date(2028, 3, 1), earlier=(then,))
    assert "age_has_not_advanced" not in rules_of(now)
    stuck = exam(pregnant(45), on=date(2028, 3, 1), earlier=(then,))
    flag = flag_of(stuck, "age_has_not_advanced")
    assert ("expected", "55 d") in flag.figures


def test_a_loss_names_the_age_it_would_be_by_now() -> None:
    flag = flag_of(exam(OPEN, earlier=(before(30, pregnant(32)),)), "pregnant_then_open_now")
    assert "62 days" in flag.why
    assert "abortion or earlier" in flag.why


def test_an_open_exam_between_ends_the_earlier_pregnancy() -> None:
    earlier = (before(60, pregnant(32)), before(30, OPEN))
    assert "pregnant_then_open_now" not in rules_of(exam(OPEN, earlier=earlier))


def test_a_cyst_persists_only_in_an_unbroken_run() -> None:
    broken = (before(30, OPEN, CYST), before(12, OPEN))
    assert "cyst_not_yet_persistent" in rules_of(exam(OPEN, CYST, earlier=broken))
    unbroken = (before(30, OPEN, CYST), before(12, OPEN, CYST))
    flag = flag_of(exam(OPEN, CYST, earlier=unbroken), "cyst_persists")
    assert ("days", "30") in flag.figures


def test_a_recheck_is_done_within_a_week_of_its_day() -> None:
    asked = before(40, UNCERTAIN, Plan(PlanAction.RECHECK, in_days=14))
    on_time = before(20, pregnant(50))
    late = before(10, pregnant(60))
    assert missed_rechecks([asked, on_time], ON) == ()
    assert [m.due_on for m in missed_rechecks([asked, late], ON)] == [ON - timedelta(days=26)]


def test_a_recheck_not_yet_due_is_not_missed() -> None:
    asked = before(14, UNCERTAIN, Plan(PlanAction.RECHECK, in_days=14))
    assert missed_rechecks([asked], ON) == ()


def test_a_recheck_day_may_be_said_as_a_date_or_as_days() -> None:
    assert recheck_day(exam(Plan(PlanAction.RECHECK, in_days=14))) == ON + timedelta(days=14)
    assert recheck_day(exam(Plan(PlanAction.RECHECK, on_date=date(2026, 6, 1)))) == date(2026, 6, 1)
    assert recheck_day(exam(Plan(PlanAction.RECHECK))) is None
