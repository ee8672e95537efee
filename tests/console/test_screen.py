"""The screen says in words whatever it says in colour, and outside text cannot draw on it."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from dictation.console.safe import safe
from dictation.console.summary import summary, to_settle
from dictation.decide import decide
from dictation.visit.apply import after
from dictation.visit.facts import VisitOpened
from dictation.visit.inputs import By, ExamApproved, Input, Noted, PhraseTyped, TagChanged
from dictation.visit.state import Act, Visit
from grammar.findings import Note, Said
from tests.console.drawing import LIVE, drawn, flags_of
from tests.decide.spoken import AT, ON, Phrase, Unsure, visit_of

WIDTHS = (60, 80, 120)
SPOKEN: tuple[Phrase, ...] = (
    "cow eight three seven",
    "left ovary CL twenty-two, follicle nine",
    "pregnant forty-five days in the left horn",
    "open",
    Unsure("right ovary CL forty", ("right ovary CL fourteen",)),
)


def shown(*phrases: Phrase, width: int = 80, colour: bool = False) -> str:
    return drawn(visit_of(*phrases), width, 40, colour, replace(LIVE, details=True))


@pytest.mark.parametrize("width", WIDTHS)
def test_it_fits_its_width(width: int) -> None:
    visit = visit_of(*SPOKEN)
    for text in (drawn(visit, width), summary(visit, flags_of(visit), width)):
        assert max(len(line) for line in text.splitlines()) <= width


@pytest.mark.parametrize("width", WIDTHS[1:])
def test_the_cow_the_sweep_the_question_and_the_flags_are_there(width: int) -> None:
    text = shown(*SPOKEN, width=width)
    for words in (
        " 837 ",
        "PREGNANT / OPEN",
        "45 days",
        "[x] left ovary",
        "left ovary CL 22 mm",
        "[ ] cervix",
        "ASKED",
        "1 = right ovary",
        "2 = right ovary",
        "40 mm",
        "14 mm",
        "QUERY",
    ):
        assert words in text


def test_without_colour_there_is_no_escape_sequence_and_no_word_is_lost() -> None:
    plain = shown(*SPOKEN)
    coloured = shown(*SPOKEN, colour=True)
    assert "\x1b" not in plain
    assert "\x1b[" in coloured
    uncoloured = re.sub(r"\x1b\[[0-9;]*m", "", coloured)
    assert [line.rstrip() for line in uncoloured.splitlines()] == plain.splitlines()


def test_what_was_taken_back_and_what_was_not_for_us_is_said_in_words() -> None:
    assert "DONE" in shown("cow eight three seven", "open", "scratch that")
    assert "Taken back: open." in shown("cow eight three seven", "open", "scratch that")
    assert "NOT FOR US" in shown("cow eight three seven", "lovely morning is it not")
    assert "PAUSED" in shown("cow eight three seven", "pause")
    assert "NO ANIMAL" in shown()


HOSTILE = "\x1b[2J\x1b]0;owned\x07[bold red]x[/] \u202egnihtyna\u2066 \x9b31m"


def hostile_visit() -> Visit:
    said = (Said(Note(HOSTILE), 0, 1, HOSTILE),)
    inputs: tuple[Input, ...] = (
        Noted(VisitOpened(ON, farm=HOSTILE)),
        PhraseTyped(1, HOSTILE, said),
    )
    visit = Visit()
    for seq, given in enumerate(inputs, start=1):
        visit = after(visit, Act(seq, AT, HOSTILE, HOSTILE, "", None, decide(visit, given)))
    return visit


@pytest.mark.parametrize("colour", [False, True])
def test_outside_text_can_neither_steer_the_terminal_nor_colour_itself(colour: bool) -> None:
    visit = hostile_visit()
    text = drawn(visit, 120, 40, colour) + summary(visit, {}, 120, colour)
    left = re.sub(r"\x1b\[[0-9;]*m", "", text) if colour else text
    assert not set(left) & {"\x1b", "\x07", "\x9b", "\u202e", "\u2066"}
    assert "[bold red]x[/]" in left


def test_safe_text_is_one_line() -> None:
    assert safe("a\r\nb\tc") == "a b c"


def test_the_summary_lists_the_visit_and_what_a_person_must_settle() -> None:
    visit = visit_of(*SPOKEN, "next cow four one two", "open", "recheck in two weeks")
    text = summary(visit, flags_of(visit), 80)
    for words in ("837", "412", "To settle", "pregnant_and_open", "SAID TWO WAYS", "Look again"):
        assert words in text
    assert "2026-12-02  412" in text
    left = to_settle(visit, flags_of(visit))
    approved = visit_of(*SPOKEN, ExamApproved(1))
    assert len(left) > len(to_settle(approved, flags_of(approved)))


def test_the_summary_says_who_approved_and_whether_it_changed_since() -> None:
    spoken = ("cow eight three seven", "pregnant forty-five days", "open")
    visit = visit_of(*spoken, (ExamApproved(1), By("anna")))
    text = summary(visit, flags_of(visit), 80)
    assert "approved by anna" in text
    assert "changed since" not in text
    assert "Nothing is left to settle." in text
    changed = visit_of(*spoken, (ExamApproved(1), By("anna")), (TagChanged(1, "838"), By("ben")))
    text = " ".join(summary(changed, flags_of(changed), 80).split())
    assert "approved by anna, changed since by ben" in text
    assert "To settle" in text


def test_a_visit_without_doubts_says_so() -> None:
    visit = visit_of("cow eight three seven", "open")
    assert "Nothing is left to settle." in summary(visit, flags_of(visit), 80)


def test_a_list_to_act_on_marks_an_animal_whose_tag_is_still_asked_about() -> None:
    visit = visit_of(Unsure("cow five eight", ("cow five double eight",)), "open")
    assert "58 (tag asked about)" in summary(visit, flags_of(visit), 80)
    sure = visit_of("cow five eight", "open")
    assert "asked about" not in summary(sure, flags_of(sure), 80)
