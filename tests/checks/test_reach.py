"""Open, said of a tract that lay out of reach, is asked about once."""

from __future__ import annotations

import pytest

from grammar import parse
from grammar.checks import check_exam
from grammar.exam import Severity
from tests.checks.exams import ON, exam


def asked(*phrases: str) -> list[str]:
    findings = [finding for phrase in phrases for finding in parse(phrase, ON).findings]
    flags = check_exam(exam(*findings))
    return [flag.rule for flag in flags if flag.severity is not Severity.NOTE]


@pytest.mark.parametrize(
    "where",
    [
        "over the brim",
        "drawn back",
        "could not draw it back",
        "could not reach her",
        "could not reach the right horn",
        "left ovary not seen",
    ],
)
def test_open_far_forward_is_asked_once(where: str) -> None:
    assert asked("open", where) == ["open_out_of_reach"]
    assert asked("empty", where, "over the brim", "left horn not reached") == ["open_out_of_reach"]
    assert asked("pregnant forty days", where) == []


def test_a_second_look_or_a_tract_in_the_pelvis_needs_no_question() -> None:
    assert asked("open", "over the brim", "recheck in two weeks") == []
    assert asked("open", "in the pelvis") == []
    assert asked("open", "cervix not seen") == []


def test_with_prostaglandin_it_is_asked_with_that_alone() -> None:
    assert asked("open", "over the brim", "prostaglandin") == ["prostaglandin_and_open_not_sure"]
