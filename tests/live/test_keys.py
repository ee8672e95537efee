"""What the recorder's keys do to a visit that is being heard."""

from __future__ import annotations

import queue
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from prompt_toolkit.key_binding import KeyPress
from prompt_toolkit.keys import Keys

from dictation.audio.ear import Ear, EarEvent
from dictation.audio.reading import Heed, ignore
from dictation.audio.samples import Samples
from dictation.audio.spool import Spool
from dictation.console.keys import Keyboard
from dictation.decide.people.orders import About, order
from dictation.decide.understanding import Understanding
from dictation.errors import WrongUseError
from dictation.live.events import Event, Message
from dictation.live.guide import Guide
from dictation.live.keys import obey
from dictation.live.listening import Listening
from dictation.live.session import Session
from dictation.visit.inputs import INPUTS, By, QueryAnswered
from dictation.visit.journal import Journal
from grammar.parse import parse
from tests.decide.spoken import ON, Chatter, Unsure, given_of, standing

DOUBTFUL = Unsure("pregnant forty days", ("pregnant fifty days",))


class Silence:
    """A microphone in which nothing is said."""

    def blocks(self, heed: Heed = ignore) -> Iterator[Samples]:
        yield np.zeros(512, np.float32)


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[Listening]:
    with Journal.write(tmp_path) as journal:
        session = Session(journal, parse)
        session.begin(ON, ON)
        found: queue.SimpleQueue[EarEvent] = queue.SimpleQueue()
        understanding = Understanding(parse, lambda: session.visit)
        ear = Ear(Silence(), Spool(tmp_path, 0.0), found.put)
        yield Listening(session, ear, found, understanding, Guide(session, understanding))


def press(desk: Listening, keys: str) -> tuple[Event, ...]:
    """Press keys one after the other, ``\\r`` for Enter; what the last one did."""
    keyboard, happened = Keyboard(), tuple[Event, ...]()
    for key in keys:
        pressed = keyboard.press(KeyPress(Keys.Enter if key == "\r" else key, key))
        if pressed is not None:
            happened = obey(desk, pressed)
    return happened


def said(desk: Listening) -> list[str]:
    return standing(desk.session.visit.exam_in_hand)


def say(desk: Listening, *phrases: str | Unsure | Chatter) -> None:
    for phrase in phrases:
        desk.session.take(given_of(desk.session.visit, phrase))


@pytest.mark.parametrize(
    ("key", "days"), [("a", ["pregnant forty days"]), ("1", ["pregnant forty days"]), ("0", [])]
)
def test_a_key_answers_what_is_asked(desk: Listening, key: str, days: list[str]) -> None:
    say(desk, "cow 412", DOUBTFUL)
    press(desk, key)
    assert not desk.session.visit.open_queries
    assert said(desk)[1:] == days
    act = desk.session.visit.acts[desk.session.visit.last_seq]
    assert (act.kind, act.who) == (INPUTS[QueryAnswered], "recorder")


def test_what_was_taken_back_by_key_is_done_again_by_key(desk: Listening) -> None:
    say(desk, "cow 412", "left ovary CL 22", "open")
    before = desk.session.visit.exam_in_hand
    press(desk, "uu")
    assert said(desk) == ["cow 412"]
    press(desk, "y")
    assert said(desk) == ["cow 412", "left ovary cl 22"]
    press(desk, "y")
    assert desk.session.visit.exam_in_hand == before


def test_keys_and_desk_each_do_again_what_was_taken_back_there(desk: Listening) -> None:
    def at_desk(name: str) -> None:
        desk.take(order(desk.session.visit, name, About()).deed, By("anna"))

    say(desk, "cow 412", DOUBTFUL, "left ovary CL 22")
    press(desk, "2")
    answered = desk.session.visit.exam_in_hand
    at_desk("undo")
    press(desk, "y")
    assert "was taken back" in desk.now.told
    press(desk, "u")
    at_desk("redo")
    assert said(desk) == ["cow 412", "pregnant fifty days"]
    press(desk, "y")
    assert desk.session.visit.exam_in_hand == answered
    with pytest.raises(WrongUseError):
        at_desk("redo")


def test_noise_does_not_stand_in_the_way_of_doing_it_again_but_speech_does(desk: Listening) -> None:
    say(desk, "cow 412", "left ovary CL 22")
    press(desk, "u")
    say(desk, Chatter("shut that gate"))
    press(desk, "y")
    assert said(desk) == ["cow 412", "left ovary cl 22"]
    press(desk, "u")
    say(desk, "open")
    press(desk, "y")
    assert said(desk) == ["cow 412", "open"]


@pytest.mark.parametrize("key", ["a", "0", "3", "y"])
def test_where_a_key_has_nothing_to_do_that_is_told_and_nothing_is_written(
    desk: Listening, key: str
) -> None:
    say(desk, "cow 412")
    before = desk.session.visit
    (told,) = press(desk, key)
    assert isinstance(told, Message)
    assert desk.now.told == told.sentence
    assert desk.session.visit == before


def test_an_answer_that_is_not_offered_is_told(desk: Listening) -> None:
    say(desk, "cow 412", DOUBTFUL)
    press(desk, "3")
    assert desk.now.told == "There is no answer 3: 2 are offered."
    assert desk.session.visit.open_queries


def test_a_typed_phrase_stands_in_the_place_of_the_one_asked_about(desk: Listening) -> None:
    say(desk, "cow 412", DOUBTFUL)
    press(desk, "rpregnant 50 days\r")
    assert said(desk) == ["cow 412", "pregnant 50 days"]
    assert not desk.session.visit.open_queries


def test_keys_say_next_and_pause(desk: Listening) -> None:
    say(desk, "cow 412", "open")
    press(desk, "p")
    assert desk.session.visit.paused
    press(desk, "p")
    assert not desk.session.visit.paused
    press(desk, "n")
    assert [exam.closed for exam in desk.session.visit.exams] == [True, False]
