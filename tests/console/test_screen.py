"""The screen says in words whatever it says in colour, and outside text cannot draw on it."""

from __future__ import annotations

import re

import pytest

from dictation.console.safe import safe
from dictation.console.screen import screen
from dictation.console.summary import summary, to_settle
from dictation.session.events import Approved, Entry, Event, Typed, VisitOpened
from dictation.session.fold import fold
from dictation.session.happenings import Flags
from dictation.session.visit import Visit
from grammar.checks import check_exam
from grammar.findings import Note, Said
from tests.session.spoken import ON, Phrase, Unsure, visit_of

WIDTHS = (60, 80, 120)
SPOKEN: tuple[Phrase, ...] = (
    "cow eight three seven",
    "left ovary CL twenty-two, follicle nine",
    "pregnant forty-five days in the left horn",
    "open",
    Unsure("right ovary CL forty", ("right ovary CL fourteen",)),
)


def flags_of(visit: Visit) -> Flags:
    return {exam.number: check_exam(exam) for exam in visit.exams}


def drawn(*phrases: Phrase, width: int = 80, colour: bool = False) -> str:
    visit = visit_of(*phrases)
    return screen(visit, flags_of(visit), width, colour)


@pytest.mark.parametrize("width", WIDTHS)
def test_it_fits_its_width(width: int) -> None:
    visit = visit_of(*SPOKEN)
    for text in (screen(visit, flags_of(visit), width), summary(visit, flags_of(visit), width)):
        assert max(len(line) for line in text.splitlines()) <= width


@pytest.mark.parametrize("width", WIDTHS)
def test_the_cow_the_sweep_the_question_and_the_flags_are_there(width: int) -> None:
    text = drawn(*SPOKEN, width=width)
    for words in (
        "TAG 837",
        "PREGNANT 45 DAYS",
        "[x] LEFT OVARY",
        "corpus luteum 22 mm",
        "[ ] CERVIX",
        "not yet",
        "ASKED",
        "1 = right ovary corpus luteum 40 mm",
        "2 = right ovary corpus luteum 14 mm",
        "because noise",
        "QUERY",
    ):
        assert words in text


def test_without_colour_there_is_no_escape_sequence_and_no_word_is_lost() -> None:
    plain = drawn(*SPOKEN)
    coloured = drawn(*SPOKEN, colour=True)
    assert "\x1b" not in plain
    assert "\x1b[" in coloured
    uncoloured = re.sub(r"\x1b\[[0-9;]*m", "", coloured)
    assert [line.rstrip() for line in uncoloured.splitlines()] == plain.splitlines()


def test_it_fits_a_small_terminal_while_an_exam_is_dictated() -> None:
    assert drawn(*SPOKEN[:3]).count("\n") <= 24


def test_what_was_taken_back_and_what_was_not_for_us_is_said_in_words() -> None:
    assert "DONE" in drawn("cow eight three seven", "open", "scratch that")
    assert "Taken back: open." in drawn("cow eight three seven", "open", "scratch that")
    assert "NOT FOR US" in drawn("cow eight three seven", "lovely morning is it not")
    assert "PAUSED" in drawn("cow eight three seven", "pause")
    assert "NO ANIMAL IN HAND" in drawn()


HOSTILE = "\x1b[2J\x1b]0;owned\x07[bold red]x[/] \u202egnihtyna\u2066 \x9b31m"


def hostile_visit() -> Visit:
    said = (Said(Note(HOSTILE), 0, 1, HOSTILE),)
    events: tuple[Event, ...] = (VisitOpened(ON, farm=HOSTILE), Typed(1, HOSTILE, said))
    return fold(Entry(seq, "now", event) for seq, event in enumerate(events, start=1))


@pytest.mark.parametrize("colour", [False, True])
def test_outside_text_can_neither_steer_the_terminal_nor_colour_itself(colour: bool) -> None:
    visit = hostile_visit()
    text = screen(visit, {}, 120, colour) + summary(visit, {}, 120, colour)
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
    assert len(left) > len(to_settle(visit_of(*SPOKEN, Approved(1, "anna")), flags_of(visit)))


def test_a_visit_without_doubts_says_so() -> None:
    visit = visit_of("cow eight three seven", "open")
    assert "Nothing is left to settle." in summary(visit, flags_of(visit), 80)


def test_a_list_to_act_on_marks_an_animal_whose_tag_is_still_asked_about() -> None:
    visit = visit_of(Unsure("cow five eight", ("cow five double eight",)), "open")
    assert "58 (tag asked about)" in summary(visit, flags_of(visit), 80)
    sure = visit_of("cow five eight", "open")
    assert "asked about" not in summary(sure, flags_of(sure), 80)
