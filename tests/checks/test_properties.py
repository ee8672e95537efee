"""Whatever was said: no rule raises an error, order does not matter, agreement never stops."""

from __future__ import annotations

import random
from dataclasses import replace
from datetime import timedelta

from hypothesis import given, settings
from hypothesis import strategies as st

from grammar.checks import check_exam
from grammar.exam import (
    CheckSettings,
    CystDefinition,
    Exam,
    FindingState,
    Flag,
    KnownAnimal,
    RecordedFinding,
    Service,
    Severity,
)
from grammar.findings import Finding, Plan, PlanAction, TreatmentClass
from grammar.summary import summarise_age
from tests.grammar.strategies import VISIT, findings

states = st.sampled_from(
    [FindingState.ACCEPTED, FindingState.QUERIED, FindingState.CORRECTED, FindingState.WITHDRAWN]
)
days = st.integers(-30, 400).map(lambda n: VISIT - timedelta(days=n))
services = st.builds(Service, days, st.none() | days)
known_animals = st.builds(
    KnownAnimal,
    st.just("837"),
    breed=st.sampled_from([None, "Holstein", "Angus", "unheard of"]),
    animal_class=st.sampled_from([None, "heifer", "cow", "bull"]),
    parity=st.none() | st.integers(0, 9),
    calved_on=st.none() | days,
    services=st.lists(services, max_size=3).map(tuple),
    last_status=st.sampled_from([None, "pregnant", "open", "sold"]),
)


def _recorded(said: list[tuple[Finding, FindingState]]) -> tuple[RecordedFinding, ...]:
    return tuple(
        RecordedFinding(number, finding, state, f"words {number}")
        for number, (finding, state) in enumerate(said, start=1)
    )


past_exams = st.builds(
    Exam,
    st.just(1),
    days,
    st.just("837"),
    st.lists(st.tuples(findings, states), max_size=6).map(_recorded),
    closed=st.just(True),
)
exams = st.builds(
    Exam,
    st.just(1),
    st.just(VISIT),
    st.sampled_from([None, "837"]),
    st.lists(st.tuples(findings, states), max_size=10).map(_recorded),
    known=st.none() | known_animals,
    closed=st.booleans(),
    tag_repeated_in=st.sampled_from([(), (2,)]),
    herd_list_given=st.booleans(),
    settings=st.builds(CheckSettings, st.sampled_from(CystDefinition)),
    earlier=st.lists(past_exams, max_size=2).map(tuple),
)


@settings(max_examples=300, deadline=None)
@given(exams)
def test_no_rule_raises_an_error_on_anything_the_grammar_can_say(exam: Exam) -> None:
    for flag in check_exam(exam):
        assert flag.why
        assert flag.source


def _apart_from_numbers(flags: tuple[Flag, ...]) -> list[Flag]:
    return [replace(flag, findings=()) for flag in flags]


@settings(max_examples=300, deadline=None)
@given(exams, st.randoms(use_true_random=False))
def test_flags_do_not_depend_on_the_order_of_speech(exam: Exam, shuffle: random.Random) -> None:
    spoken = list(exam.recorded)
    shuffle.shuffle(spoken)
    assert check_exam(replace(exam, recorded=tuple(spoken))) == check_exam(exam)
    # Spoken in that order they would also be numbered in that order.
    renumbered = tuple(replace(r, number=n, heard="words") for n, r in enumerate(spoken, start=1))
    same_words = tuple(replace(r, heard="words") for r in exam.recorded)
    assert _apart_from_numbers(check_exam(replace(exam, recorded=renumbered))) == (
        _apart_from_numbers(check_exam(replace(exam, recorded=same_words)))
    )


def _stops(exam: Exam) -> set[str]:
    return {flag.rule for flag in check_exam(exam) if flag.severity is Severity.STOP}


@settings(max_examples=300, deadline=None)
@given(exams, st.data())
def test_saying_a_finding_again_never_adds_a_stop(exam: Exam, data: st.DataObject) -> None:
    standing = [r for r in exam.recorded if r.state is not FindingState.WITHDRAWN]
    if not standing:
        return
    again = replace(data.draw(st.sampled_from(standing)), number=99)
    assert _stops(replace(exam, recorded=(*exam.recorded, again))) <= _stops(exam)


@settings(max_examples=300, deadline=None)
@given(exams)
def test_nothing_stops_without_a_plan_that_would_end_a_pregnancy(exam: Exam) -> None:
    def ends(finding: Finding) -> bool:
        return isinstance(finding, Plan) and (
            finding.action is PlanAction.TERMINATE
            or finding.treatment_class is TreatmentClass.PROSTAGLANDIN
        )

    if not any(ends(finding) for finding in exam.findings):
        assert _stops(exam) == set()


@settings(max_examples=300, deadline=None)
@given(exams)
def test_a_summary_never_holds_half_a_date(exam: Exam) -> None:
    summary = summarise_age(exam)
    assert (summary.age_days is None) == (summary.age_from is None)
    assert (summary.age_days is None) == (summary.age_error_days is None)
    if summary.due_date is not None:
        assert summary.service_date is not None
        assert summary.due is not None
        assert summary.due.earliest < summary.due_date < summary.due.latest
