"""What the tool says aloud, when, and that it closes its ear meanwhile."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from datetime import date
from pathlib import Path

import numpy as np
import pytest

from dictation.audio.samples import Samples
from dictation.audio.voice import Tone, tone
from dictation.live.answering_aloud import (
    LONGEST_QUESTION_S,
    LONGEST_READ_BACK_S,
    AnsweringAloud,
    Speak,
)
from dictation.live.session import Session
from dictation.visit.facts import Spoke
from dictation.visit.journal import Journal
from grammar.parse import parse
from tests.decide.spoken import Chatter, Unsure, given_of

DAY = date(2026, 11, 18)

pytestmark = pytest.mark.skipif(shutil.which("espeak-ng") is None, reason="no espeak-ng")


class Ear:
    """An ear whose moments the test sets."""

    at_s = 10.0
    speaking = False
    shut = False

    def speaks(self) -> None:
        self.shut = True

    def spoke(self) -> None:
        self.shut = False


class Played:
    """Keeps what was played, and how to say that it has ended."""

    def __init__(self) -> None:
        self.sounds: list[Samples] = []
        self.lengths_s: list[float] = []
        self.hushed = 0
        self.ended: Callable[[], None] = lambda: None

    def play(
        self, samples: Samples, rate_hz: int, ended: Callable[[], None] = lambda: None
    ) -> None:
        self.sounds.append(samples)
        self.lengths_s.append(len(samples) / rate_hz)
        self.ended = ended

    def hush(self) -> None:
        self.hushed += 1

    def stop(self) -> None:
        """Nothing is under way."""


class Desk:
    def __init__(self, folder: Path, how: Speak, headset: bool = False) -> None:
        self.journal = Journal.write(folder)
        self.session = Session(self.journal, parse)
        self.session.begin(DAY, DAY)
        self.ear, self.played = Ear(), Played()
        self.aloud = AnsweringAloud(self.session, self.ear, how, headset, lambda: self.played)

    def hear(self, *phrases: str | Unsure | Chatter) -> list[str]:
        """What is said to these phrases."""
        for phrase in phrases:
            self.aloud.after(self.session.take(given_of(self.session.visit, phrase)))
        return self.said()

    def spoke(self) -> list[Spoke]:
        facts = (fact for act in self.journal.acts() for fact in act.facts)
        return [fact for fact in facts if isinstance(fact, Spoke)]

    def said(self) -> list[str]:
        return [spoke.text for spoke in self.spoke()]


FORTY = Unsure("left ovary CL 40", ("left ovary CL 14",))
SIXTY = Unsure("pregnant 60 days", ("pregnant 50 days",))


def test_with_values_the_number_and_every_grave_word_come_back(tmp_path: Path) -> None:
    told = Desk(tmp_path, Speak.VALUES).hear(
        *("cow 412", "left ovary CL 22", "cervix normal", "pregnant 60 days", "twins"),
        *("endometritis", "left ovary static"),
    )
    told += Desk(tmp_path / "open", Speak.VALUES).hear("open", "give her prostaglandin")
    assert told == [
        *("four one two", "twenty two", "pregnant, sixty", "twins"),
        *("endometritis", "open", "prostaglandin"),
    ]


@pytest.mark.parametrize(
    "phrase", ["pregnant 135 days", "cow 2605", "left ovary CL 22 with a cavity 6 mm", "twins"]
)
def test_what_is_read_back_takes_no_longer_than_it_may(tmp_path: Path, phrase: str) -> None:
    desk = Desk(tmp_path, Speak.VALUES)
    assert desk.hear(phrase)
    assert desk.played.lengths_s[-1] <= LONGEST_READ_BACK_S


def test_off_says_nothing_and_all_says_the_findings(tmp_path: Path) -> None:
    assert Desk(tmp_path / "off", Speak.OFF).hear("cow 412", FORTY) == []
    (_, told) = Desk(tmp_path / "all", Speak.ALL).hear("cow 412", "left ovary CL 22")
    assert told == "left ovary cl twenty two"


def test_each_outcome_has_its_tone(tmp_path: Path) -> None:
    desk = Desk(tmp_path, Speak.OFF)
    desk.hear("open", FORTY, Chatter("hold her please"), "pause", "open")
    wanted = (Tone.TAKEN, Tone.ASKED, Tone.NOT_FOR_US, Tone.TAKEN, Tone.NOT_FOR_US)
    for sound, kind in zip(desk.played.sounds, wanted, strict=True):
        assert np.array_equal(sound, tone(kind))


def test_a_question_is_asked_by_what_tells_its_answers_apart(tmp_path: Path) -> None:
    assert Desk(tmp_path, Speak.VALUES).hear(FORTY) == ["forty or fourteen?"]


def test_one_question_a_cow_is_spoken_and_none_again_for_the_next(tmp_path: Path) -> None:
    desk = Desk(tmp_path, Speak.VALUES)
    assert desk.hear("cow 412", FORTY, SIXTY, "next cow 413")[1:] == [
        "forty or fourteen?",
        "four one three",
    ]
    assert desk.hear(SIXTY)[-1] == "sixty or fifty?"


def test_a_stop_is_always_spoken(tmp_path: Path) -> None:
    desk = Desk(tmp_path, Speak.VALUES)
    told = desk.hear("cow 412", FORTY, "pregnant 60 days", "give her prostaglandin")
    assert told[-1].startswith("Stop.")
    assert desk.played.lengths_s[-1] <= LONGEST_QUESTION_S


def test_a_stop_waits_for_quiet_and_nothing_takes_its_place(tmp_path: Path) -> None:
    desk = Desk(tmp_path, Speak.VALUES)
    desk.hear("cow 412", "pregnant 60 days")
    desk.ear.at_s, desk.ear.speaking = 40.0, True
    desk.hear("give her prostaglandin", "left ovary CL 22")
    desk.ear.at_s, desk.ear.speaking = 60.0, False
    desk.aloud.when_quiet()
    assert desk.said()[-1].startswith("Stop.")


def test_with_all_the_whole_animal_is_read_back(tmp_path: Path) -> None:
    desk = Desk(tmp_path, Speak.ALL)
    told = desk.hear("cow 412", "left ovary CL 22, right ovary follicle 9", "read back")
    assert told[-1].count(";") == 2
    assert desk.played.lengths_s[-1] > LONGEST_QUESTION_S


def test_what_is_left_for_the_recorder_brings_no_other_question_up(tmp_path: Path) -> None:
    desk = Desk(tmp_path, Speak.VALUES)
    desk.ear.at_s, desk.ear.speaking = 60.0, True
    desk.hear("cow 412", FORTY, SIXTY)
    desk.ear.speaking = False
    assert desk.hear("leave it") == []


def test_what_cannot_be_asked_in_few_words_is_left_to_the_screen(tmp_path: Path) -> None:
    long = "cervix normal, body clear, both horns clear, left ovary CL 22, right ovary follicle 9"
    unsure = Unsure(long, ("pregnant 60 days right horn, embryo seen, heartbeat seen, twins",))
    desk = Desk(tmp_path, Speak.VALUES)
    assert desk.hear("cow 412", unsure) == ["four one two"]


def test_a_question_that_comes_too_late_is_not_asked_aloud(tmp_path: Path) -> None:
    desk = Desk(tmp_path, Speak.VALUES)
    desk.ear.speaking = True
    assert desk.hear(FORTY) == []
    desk.ear.speaking = False
    desk.ear.at_s += 60.0
    desk.aloud.when_quiet()
    assert desk.said() == []


def test_a_question_that_was_answered_meanwhile_is_not_asked_aloud(tmp_path: Path) -> None:
    desk = Desk(tmp_path, Speak.VALUES)
    desk.ear.at_s, desk.ear.speaking = 0.0, True
    desk.hear(FORTY)
    desk.session.take(given_of(desk.session.visit, "first"))
    desk.ear.speaking = False
    desk.aloud.when_quiet()
    assert desk.said() == []


def test_the_ear_is_shut_until_a_loudspeaker_has_ended(tmp_path: Path) -> None:
    desk = Desk(tmp_path, Speak.ALL)
    desk.hear("cow 412")
    (spoke,) = desk.spoke()
    assert spoke.from_s < desk.ear.at_s < spoke.until_s
    assert desk.ear.shut
    desk.played.ended()
    assert not desk.ear.shut


def test_with_a_headset_the_ear_stays_open_and_who_speaks_makes_it_stop(tmp_path: Path) -> None:
    desk = Desk(tmp_path, Speak.ALL, headset=True)
    desk.hear("cow 412")
    assert not desk.ear.shut
    assert desk.spoke()[0].headset
    desk.aloud.interrupted()
    assert desk.played.hushed == 1


def test_nobody_is_interrupted(tmp_path: Path) -> None:
    desk = Desk(tmp_path, Speak.ALL)
    desk.ear.at_s, desk.ear.speaking = 0.0, True
    assert desk.hear("cow 412") == []
    desk.ear.speaking = False
    desk.aloud.when_quiet()
    assert len(desk.said()) == 1


def test_chatter_is_answered_by_a_tone_alone(tmp_path: Path) -> None:
    desk = Desk(tmp_path, Speak.ALL)
    assert desk.hear(Chatter("hold her please")) == []
    assert len(desk.played.lengths_s) == 1
