"""Events go to JSON and come back as they were."""

from __future__ import annotations

import json

import pytest
from dictation.session.codec import CodecError, decode, encode, from_text, to_text
from dictation.session.events import KIND_NAMES, KINDS, Event, Gap, VisitOpened
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from grammar.findings import Command, Finding

st.register_type_strategy(float, st.floats(allow_nan=False, allow_infinity=False))


@pytest.mark.parametrize("kind", list(KINDS.values()), ids=list(KINDS))
def test_every_kind_of_event_comes_back_as_it_was(kind: type[Event]) -> None:
    @settings(max_examples=15, deadline=None, suppress_health_check=list(HealthCheck))
    @given(st.from_type(kind))
    def round_trip(event: Event) -> None:
        text = to_text(event)
        assert "\n" not in text
        assert from_text(kind, text) == event

    round_trip()


@settings(max_examples=200, deadline=None)
@given(st.from_type(Finding | Command))  # type: ignore[arg-type]
def test_every_finding_and_command_comes_back_as_it_was(what: Finding | Command) -> None:
    assert decode(Finding | Command, json.loads(json.dumps(encode(what)))) == what


def test_every_kind_has_one_name() -> None:
    assert len(KIND_NAMES) == len(KINDS)


def test_a_field_that_an_older_journal_lacks_takes_its_default() -> None:
    assert decode(VisitOpened, {"is": "VisitOpened", "on_date": "2026-11-18"}).farm is None


@pytest.mark.parametrize(
    "written",
    [
        '{"is":"VisitOpened","on_date":"2026-11-18","weather":"rain"}',
        '{"is":"VisitOpened","on_date":"18.11.2026"}',
        '{"is":"VisitOpened"}',
        '{"is":"Unheard"}',
        "[1, 2]",
        "not json",
    ],
)
def test_what_does_not_fit_is_refused_and_not_guessed(written: str) -> None:
    with pytest.raises(CodecError):
        from_text(VisitOpened, written)


def test_a_number_that_is_none_is_refused() -> None:
    with pytest.raises(ValueError, match="not JSON compliant"):
        to_text(Gap(0.0, float("nan"), "unplugged"))
