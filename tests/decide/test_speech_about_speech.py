"""What is said of what was just said: a correction replaces, and never stands beside."""

from __future__ import annotations

import pytest

from dictation.decide.understanding import Understanding
from grammar import parse
from grammar.findings import Animal, Command, CommandName
from grammar.wording import written
from tests.decide.spoken import ON, Unsure, visit_of

COW = "cow eight three seven"


def stands(*phrases: str | Unsure) -> list[str]:
    """What stands of the animal in hand, as it is written."""
    exam = visit_of(COW, *phrases).exam_in_hand
    assert exam is not None
    return [written(f) for f in exam.findings if not isinstance(f, Animal)]


def asked(*phrases: str | Unsure) -> str:
    query = visit_of(COW, *phrases).asked
    return "" if query is None else query.question


@pytest.mark.parametrize(
    ("first", "correction", "left"),
    [
        ("pregnant nine weeks", "no, eight weeks", "pregnant 56 days (8 weeks)"),
        ("pregnant left horn nine weeks", "sorry, eight weeks", "pregnant 56 days (8 weeks)"),
        ("in calf fifty days", "actually fifty five days", "pregnant 55 days"),
        ("in calf fifty days", "I mean fifty five days", "pregnant 55 days"),
        ("right ovary CL sixty mil", "sixteen mil not sixty", "right ovary corpus luteum 16 mm"),
        ("right ovary CL sixty mil", "not sixty, sixteen", "right ovary corpus luteum 16 mm"),
        ("right ovary CL twenty mil", "correction sixteen", "right ovary corpus luteum 16 mm"),
        ("pregnant fifteen days", "fifty not fifteen", "pregnant 50 days"),
        ("pregnant nine weeks", "eight not nine", "pregnant 56 days (8 weeks)"),
        ("CL left", "no, no, right", "right ovary corpus luteum"),
        ("CL left", "I mean the right", "right ovary corpus luteum"),
        ("CL left", "other side", "right ovary corpus luteum"),
        ("CL right", "no, other side", "left ovary corpus luteum"),
        ("follicle on the right", "eighteen mil", "right ovary follicle 18 mm"),
        ("right ovary follicle", "eighteen on the right", "right ovary follicle 18 mm"),
        ("follicle", "right eighteen", "right ovary follicle 18 mm"),
        ("left horn fluid", "two centimetres", "left horn fluid 20 mm"),
    ],
)
def test_a_correction_takes_the_place_of_what_it_corrects(
    first: str, correction: str, left: str
) -> None:
    (stood,) = stands(first, correction)
    assert stood.replace(" left horn", "") == left or stood == left
    assert not asked(first, correction)


def test_a_corrected_age_leaves_the_horn_and_the_status_as_they_were() -> None:
    assert stands("pregnant left horn nine weeks", "no, eight weeks") == [
        "pregnant 56 days (8 weeks) left horn"
    ]


def test_a_slip_within_a_breath_counts_as_the_last() -> None:
    assert stands("pregnant nine weeks, no, eight weeks") == ["pregnant 56 days (8 weeks)"]


def test_an_ovary_named_behind_no_is_asked_as_a_correction_or_as_not_found() -> None:
    phrases = ("CL right", "no, left ovary")
    assert asked(*phrases)
    assert "left ovary corpus luteum" in stands(*phrases, "first one")


def test_what_fits_nothing_is_asked_and_changes_nothing() -> None:
    for words in ("eighteen mil", "other side", "sixteen not sixty"):
        assert asked("open", words)
        assert stands("open", words) == ["open"]


def test_a_size_that_may_be_of_two_structures_is_asked() -> None:
    phrases = ("left ovary CL, follicle", "eighteen mil")
    assert asked(*phrases)
    assert stands(*phrases, "first one")[0] == "left ovary corpus luteum 18 mm"


def test_a_number_that_answers_a_question_is_no_size_of_a_structure() -> None:
    doubtful = Unsure("crown rump sixteen", ("crown rump sixty",))
    visit = visit_of(COW, doubtful)
    (said,) = Understanding(parse, lambda: visit)("sixteen millimetres", ON).said
    assert isinstance(said.what, Command)
    assert said.what.name is CommandName.ANSWER


def test_undo_and_forget_that_take_back_and_wait_does_nothing() -> None:
    assert stands("open", "undo") == stands("open", "forget that") == []
    assert stands("open", "wait") == stands("open", "hang on") == ["open"]
    assert not asked("open", "wait")


def test_that_is_her_and_done_close_the_animal_and_close_the_visit_the_visit() -> None:
    for words in ("that's her", "done", "finish"):
        assert visit_of(COW, "open", words).exam_in_hand is None
    assert visit_of(COW, "open", "close the visit").closed


def test_same_again_repeats_the_animal_before_only_where_it_is_confirmed() -> None:
    phrases = ("open, lame", "next cow four one two", "same again")
    assert asked(*phrases) == "The same again: open, note: lame?"
    assert stands(*phrases) == []
    assert stands(*phrases, "yes") == ["open", "note: lame"]
    assert asked("open", "same again") == "Say in words what is the same."


def test_the_same_on_the_other_side_is_what_was_said_last_and_stands_where_it_is_confirmed() -> (
    None
):
    phrases = (COW, "left ovary CL twenty two", "same on the right")
    assert asked(*phrases) == "The same again: right ovary corpus luteum 22 mm?"
    assert stands(*phrases) == ["left ovary corpus luteum 22 mm"]
    both = ["left ovary corpus luteum 22 mm", "right ovary corpus luteum 22 mm"]
    assert stands(*phrases, "yes") == both
    assert stands(COW, "cyst left", "same on the other side", "yes") == [
        "left ovary cyst",
        "right ovary cyst",
    ]
    assert asked(COW, "open", "same on the left") == "Say in words what is the same."
    assert asked(COW, "cyst left", "same on the left") == "Say in words what is the same."
