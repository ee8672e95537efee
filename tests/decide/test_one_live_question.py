"""One question is live at a time, and an answer meets that one and nothing else."""

from __future__ import annotations

import pytest

from dictation.visit.parts import QueryState
from grammar.exam import FindingState
from grammar.findings import Ovary
from tests.decide.spoken import Chatter, Unsure, states, visit_of

COW = "cow eight three seven"
FORTY = Unsure("left ovary CL forty", ("left ovary CL fourteen",))
SIXTY = Unsure("pregnant sixty days", ("pregnant sixteen days",))
UNREAD = Chatter("left ovary follicle corpus thingy twenty")


def asked(*phrases: str | Unsure | Chatter) -> str | None:
    live = visit_of(*phrases).asked
    return None if live is None else live.question


def test_the_newest_question_of_the_cow_in_hand_is_live() -> None:
    assert "60" in str(asked(COW, FORTY, SIXTY))
    assert asked(COW, FORTY, "next cow four one two") is None


def test_once_it_is_answered_the_one_before_is_live_again() -> None:
    assert "40" in str(asked(COW, FORTY, SIXTY, "first"))


def test_no_takes_back_what_was_asked_last_and_nothing_else() -> None:
    change = visit_of(COW, "left ovary CL twenty two", FORTY, "make that four", "no")
    assert states(change.exam_in_hand) == [FindingState.ACCEPTED] * 2 + [FindingState.QUERIED]
    assert [q.state for q in change.queries] == [QueryState.OPEN, QueryState.ANSWERED]


def test_no_to_a_value_that_stands_again_leaves_the_rest_of_its_phrase() -> None:
    both = "left ovary follicle twelve, right ovary CL twenty two"
    visit = visit_of(COW, both, "make that twenty four", "scratch that", "no")
    left = [f for f in visit.exams[0].findings if isinstance(f, Ovary)]
    assert [f.size_mm for f in left] == [12.0]


@pytest.mark.parametrize(("word", "size_mm"), [("first", 40.0), ("second", 14.0)])
def test_one_word_is_enough_of_an_answer(word: str, size_mm: float) -> None:
    exam = visit_of(COW, FORTY, word).exam_in_hand
    assert exam is not None
    assert [f.size_mm for f in exam.findings if isinstance(f, Ovary)] == [size_mm]


def test_what_is_left_stays_asked_of_the_recorder_and_is_not_live() -> None:
    visit = visit_of(COW, FORTY, "leave it")
    assert visit.asked is None
    assert states(visit.exam_in_hand)[-1] is FindingState.QUERIED
    assert len(visit.open_queries) == 1
    assert "16" not in str(asked(COW, FORTY, "leave it", "no"))
    assert states(visit_of(COW, FORTY, "leave it", "no").exam_in_hand)[-1] is FindingState.QUERIED


def test_leaving_it_can_be_taken_back() -> None:
    assert "40" in str(asked(COW, FORTY, "leave it", "scratch that"))


def test_what_was_not_understood_is_live_until_anything_else_is_said() -> None:
    assert "Not understood" in str(asked(COW, FORTY, UNREAD))
    assert "Not understood" in str(asked(COW, FORTY, UNREAD, Chatter("hold her please")))
    assert "40" in str(asked(COW, FORTY, UNREAD, "right ovary follicle nine"))
    dismissed = visit_of(COW, FORTY, UNREAD, "no")
    assert states(dismissed.exam_in_hand)[-1] is FindingState.QUERIED
