"""Facts and inputs go to JSON and come back as they were."""

from __future__ import annotations

import json
from dataclasses import fields
from datetime import date

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from dictation.recognition.protocol import Outcome
from dictation.visit.facts import WORDS, Fact, Gap, GoingSet, VisitOpened
from dictation.visit.inputs import INPUTS, ExamAdded, Input, Noted, PhraseHeard, PhraseTyped
from dictation.visit.words import WordsError, facts_from, facts_text, input_from, input_text
from grammar.findings import Command, Finding, Said

st.register_type_strategy(float, st.floats(allow_nan=False, allow_infinity=False))

KEPT = [kind for kind in INPUTS if kind is not Noted]
"""Inputs that are evidence; of what simply happened the fact says it all."""


@pytest.mark.parametrize("kind", list(WORDS), ids=list(WORDS.values()))
def test_every_kind_of_fact_comes_back_as_it_was(kind: type[Fact]) -> None:
    @settings(max_examples=15, deadline=None, suppress_health_check=list(HealthCheck))
    @given(st.lists(st.from_type(kind), min_size=1, max_size=3))
    def round_trip(facts: list[Fact]) -> None:
        text = facts_text(facts)
        assert "\n" not in text
        assert facts_from(text) == tuple(facts)
        assert facts_text(facts_from(text)) == text

    round_trip()


@pytest.mark.parametrize("kind", KEPT, ids=[INPUTS[kind] for kind in KEPT])
def test_every_kind_of_input_comes_back_as_it_was(kind: type[Input]) -> None:
    @settings(max_examples=15, deadline=None, suppress_health_check=list(HealthCheck))
    @given(st.from_type(kind))
    def round_trip(came_in: Input) -> None:
        text = input_text(came_in)
        assert "\n" not in text
        assert input_from(INPUTS[kind], text) == came_in

    round_trip()


@settings(max_examples=200, deadline=None)
@given(st.from_type(Finding | Command))  # type: ignore[arg-type]
def test_every_finding_and_command_comes_back_as_it_was(what: Finding | Command) -> None:
    typed = PhraseTyped(1, "", (Said(what, 0, 1, "words"),))
    assert input_from("typed", input_text(typed)) == typed


def test_every_kind_has_one_word_and_every_word_one_kind() -> None:
    assert len(set(WORDS.values())) == len(WORDS)
    assert len(set(INPUTS.values())) == len(INPUTS)


def test_a_slot_that_was_true_does_not_come_back_as_one() -> None:
    (going,) = facts_from(facts_text([GoingSet("paused", False, True)]))
    assert isinstance(going, GoingSet)
    assert going.now is True
    (going,) = facts_from(facts_text([GoingSet("in_hand", None, 1)]))
    assert isinstance(going, GoingSet)
    assert type(going.now) is int


def test_a_field_that_an_older_journal_lacks_takes_its_default() -> None:
    (opened,) = facts_from('[{"is":"visit_opened","on_date":"2026-11-18"}]')
    assert opened == VisitOpened(date(2026, 11, 18))


def test_what_is_unknown_is_left_out() -> None:
    assert facts_text([VisitOpened(date(2026, 11, 18))]) == (
        '[{"is":"visit_opened","on_date":"2026-11-18"}]'
    )
    heard = json.loads(input_text(PhraseHeard(1, None, 0.0, 1.0, Outcome.SILENCE)))
    left_out = {f.name for f in fields(PhraseHeard) if f.default in (None, ())}
    assert not left_out & set(heard)


@pytest.mark.parametrize(
    "written",
    [
        '[{"is":"visit_opened","on_date":"2026-11-18","weather":"rain"}]',
        '[{"is":"visit_opened","on_date":"18.11.2026"}]',
        '[{"is":"visit_opened"}]',
        '[{"is":"visit_opened","on_date":"2026-11-18","farm":7}]',
        '[{"is":"gap","from_s":"0","until_s":1.0,"why":""}]',
        '[{"is":"gap","from_s":true,"until_s":1.0,"why":""}]',
        '[{"is":"smelled"}]',
        '[{"on_date":"2026-11-18"}]',
        '{"is":"visit_opened","on_date":"2026-11-18"}',
        "[1, 2]",
        "7",
        "not json",
        "[" * 100_000,
    ],
)
def test_what_does_not_fit_is_refused_and_not_guessed(written: str) -> None:
    with pytest.raises(WordsError):
        facts_from(written)


@pytest.mark.parametrize(
    ("word", "written"),
    [
        ("exam_added", '{"after":1,"tag":900}'),
        ("exam_added", '{"after":1.0,"tag":"900"}'),
        ("exam_added", '{"behind":1}'),
        ("exam_added", "[]"),
        ("exam_added", ""),
        ("smelled", "{}"),
    ],
)
def test_an_input_that_does_not_fit_is_refused_too(word: str, written: str) -> None:
    with pytest.raises(WordsError):
        input_from(word, written)


def test_what_a_person_does_may_leave_out_what_it_is_not_about() -> None:
    assert input_from("exam_added", input_text(ExamAdded(None, None))) == ExamAdded(None, None)


def test_a_number_that_is_none_is_refused() -> None:
    with pytest.raises(ValueError, match="not JSON compliant"):
        facts_text([Gap(0.0, float("nan"), "unplugged")])
