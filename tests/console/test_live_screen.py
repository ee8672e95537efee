"""The screen while listening fits its terminal, and says in words what it says in colour."""

from __future__ import annotations

from dataclasses import replace

import pytest

from dictation.console.live import Microphone
from dictation.live.guide import LEFT_FIRST, RIGHT_FIRST
from dictation.visit.inputs import By, ExamApproved, TagChanged
from dictation.visit.state import Visit
from grammar.findings import SweepStructure
from tests.console.drawing import GOOD, LIVE, drawn
from tests.decide.spoken import Phrase, Unsure, visit_of


def screen_of(  # noqa: PLR0913 - what a screen depends on
    *phrases: Phrase,
    width: int = 80,
    height: int = 24,
    microphone: Microphone = GOOD,
    order: tuple[SweepStructure, ...] = LEFT_FIRST,
    words: str = "",
    typing: str | None = None,
    details: bool = True,
) -> str:
    live = replace(LIVE, microphone=microphone, order=order, words=words, typing=typing)
    live = replace(live, details=details)
    return drawn(visit_of(*phrases), width, height, live=live)


BUSY = (
    "cow 412",
    "cervix normal, body clear, both horns clear",
    "left ovary CL 22 with a cavity 6 mm, follicle 9, follicle 12, follicle 4",
    "right ovary CL 99",
    "twins one each horn, pregnant forty days, crown rump 12 mm, good heartbeat",
    "recheck in four weeks",
    Unsure("left ovary CL 40", ("left ovary CL 14", "left ovary CL 44")),
)


SIZES = [(80, 24), (100, 30), (132, 43), (160, 50)]


@pytest.mark.parametrize(("width", "height"), SIZES)
@pytest.mark.parametrize("phrases", [(), ("cow 412",), BUSY])
@pytest.mark.parametrize("details", [False, True])
def test_it_fits_the_terminal(
    phrases: tuple[Phrase, ...], width: int, height: int, details: bool
) -> None:
    lines = screen_of(*phrases, width=width, height=height, details=details).splitlines()
    assert len(lines) < height
    assert all(len(line) <= width for line in lines)


@pytest.mark.parametrize(("width", "height"), SIZES)
def test_tag_and_status_are_as_large_as_the_terminal_allows(width: int, height: int) -> None:
    """A capital of 9 mm is read at two metres (common practice, no source); the glass of a small
    laptop is some 174 mm high, so that many lines are that."""
    phrases = ("cow 412", "pregnant forty days", Unsure("left ovary CL 40", ("left ovary CL 14",)))
    text = screen_of(*phrases, width=width, height=height, details=False)
    lines = text.splitlines()
    drawn_in_blocks = [line for line in lines if set(line.strip()) & set("\u2580\u2584\u2588")]
    assert len(drawn_in_blocks) * 174 / height >= 4 * 9
    words = " ".join(line for line in lines if line not in drawn_in_blocks).split()
    assert "ASKED" in words
    assert len(words) < 80


@pytest.mark.parametrize(("width", "height"), [(20, 8), (30, 12), (40, 12)])
def test_where_there_is_no_room_for_letters_tag_and_status_are_type(
    width: int, height: int
) -> None:
    text = screen_of(*BUSY, width=width, height=height, details=False)
    assert "412" in text
    assert "PREGNANT" in text


def test_a_stop_is_whole_on_the_first_screen() -> None:
    text = screen_of("cow 412", "pregnant forty days", "prostaglandin", details=False)
    assert " STOP " in text
    assert "Say it a second time" in " ".join(text.split())


@pytest.mark.parametrize(("width", "height"), [(80, 24), (100, 30), (132, 43)])
@pytest.mark.parametrize(
    "words", ["", "left ovary CL 22 with a cavity 6 mm, follicle 9, follicle 12"]
)
def test_no_value_is_cut_off(width: int, height: int, words: str) -> None:
    text = screen_of(*BUSY, width=width, height=height, words=words)
    assert "…" not in text
    sizes = ("22 mm", "6 mm", "9 mm", "12 mm", "4 mm", "99 mm", "40 mm", "28 days", "40 days")
    assert [size for size in sizes if size not in text] == []
    flags = text.count(" QUERY ") + text.count(" NOTE ")
    left = f"and {5 - flags} more" if flags else "5 flags"
    assert flags == 5 or left in text


def test_where_no_flag_has_room_their_number_is_told() -> None:
    text = screen_of(*BUSY, height=16)
    assert "5 flags, the gravest a QUERY" in text
    assert "QUERY  " not in text


def test_it_shows_the_animal_the_words_the_question_and_the_microphone() -> None:
    text = screen_of(
        "cow 412", "left ovary CL 22", Unsure("right ovary CL 40", ("right ovary CL 14",))
    )
    shown = (
        *(" 412\n", "[x] left ovary", "corpus luteum 22 mm", "Right ovary corpus luteum 40 mm"),
        *("ASKED", "1 = ", "2 = ", "say '", "GOOD", "-23 dB", "10:41:07", "LISTENING"),
    )
    assert [words for words in shown if words not in text] == []


@pytest.mark.parametrize("details", [False, True])
def test_what_was_not_spoken_of_has_no_mark(details: bool) -> None:
    text = screen_of("cow 412", "left ovary CL 22", details=details)
    assert "[x] left ovary [ ] right horn [ ] right ovary" in text


def test_words_being_spoken_are_marked_as_unfinished() -> None:
    assert "HEARING  left ovary CL ..." in screen_of("cow 412", words="left ovary CL")


@pytest.mark.parametrize("details", [False, True])
def test_a_lost_microphone_is_said_in_words(details: bool) -> None:
    gone = Microphone("Headset", -100.0, "no sound", lost=True)
    text = screen_of("cow 412", microphone=gone, details=details)
    assert "NOT LISTENING" in text
    assert "MICROPHONE GONE" in text


@pytest.mark.parametrize("details", [False, True])
def test_lost_blocks_and_a_bad_level_are_shown(details: bool) -> None:
    loud = Microphone("Headset", -3.0, "too loud: cut off", overruns=4)
    text = screen_of(microphone=loud, details=details)
    assert "TOO LOUD: CUT OFF" in text
    assert "4 blocks lost" in text


def test_the_side_swept_first_stands_at_the_left() -> None:
    def place(order: tuple[SweepStructure, ...]) -> int:
        line = next(
            li for li in screen_of("cow 412", order=order).splitlines() if "left ovary" in li
        )
        return line.index("left ovary")

    assert place(LEFT_FIRST) < place(RIGHT_FIRST)


def test_what_is_being_typed_is_shown() -> None:
    assert "TYPE: left ov_" in screen_of(typing="left ov")


def of_details(visit: Visit) -> str:
    return drawn(visit, live=replace(LIVE, details=True))


def test_an_animal_that_was_approved_says_by_whom_and_whether_it_changed_since() -> None:
    anna, ben = By("anna"), By("ben")
    approved = visit_of("cow 412", "open", (ExamApproved(1), anna))
    assert "exam 1  approved by anna\n" in of_details(approved)
    changed = visit_of("cow 412", "open", (ExamApproved(1), anna), (TagChanged(1, "413"), ben))
    assert "approved by anna, changed since by ben" in of_details(changed)
    spoken = visit_of("cow 412", "open", (ExamApproved(1), anna), "right ovary CL 22")
    assert "approved by anna, changed since by voice" in of_details(spoken)


@pytest.mark.parametrize("said", [(), ("cow 412",), BUSY])
def test_while_nothing_is_kept_it_says_so_and_not_that_all_is_good(
    said: tuple[Phrase, ...],
) -> None:
    live = replace(LIVE, trouble="The disk is full: free some space.", words="left ovary")
    text = drawn(visit_of(*said), 80, 24, live=live)
    assert "NOT KEPT" in text
    assert "The disk is full" in text
    assert "GOOD" not in text
    assert "LISTENING" not in text
