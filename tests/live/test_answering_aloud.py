"""What the tool says aloud, when, and that it closes its ear meanwhile."""

from __future__ import annotations

import shutil
from datetime import date
from pathlib import Path

import pytest

from dictation.audio.own_voice import Saying
from dictation.audio.samples import Samples
from dictation.live.answering_aloud import AnsweringAloud, Speak
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
    closed_until_s = 0.0

    def speaks(self, saying: Saying) -> None:
        self.closed_until_s = saying.until_s


class Played:
    """Keeps the length of what was played."""

    def __init__(self) -> None:
        self.lengths_s: list[float] = []

    def play(self, samples: Samples, rate_hz: int) -> None:
        self.lengths_s.append(len(samples) / rate_hz)

    def hush(self) -> None:
        """Nothing is under way."""

    def stop(self) -> None:
        """Nothing is under way."""


class Desk:
    def __init__(self, folder: Path, how: Speak) -> None:
        self.journal = Journal.write(folder)
        self.session = Session(self.journal, parse)
        self.session.begin(DAY, DAY)
        self.ear, self.played = Ear(), Played()
        self.aloud = AnsweringAloud(self.session, self.ear, how, lambda: self.played)

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


@pytest.mark.parametrize(
    ("how", "said"),
    [
        (Speak.OFF, []),
        (Speak.VALUES, ["tag 4 1 2", "left ovary CL 22"]),
        (Speak.ALL, ["tag 4 1 2", "left ovary CL 22", "open"]),
    ],
)
def test_values_or_all_is_read_back(tmp_path: Path, how: Speak, said: list[str]) -> None:
    told = Desk(tmp_path, how).hear("cow 412", "left ovary CL 22", "open")
    assert len(told) == len(said)
    if told:
        assert "twenty two" in told[1]


def test_a_question_is_asked_by_what_tells_its_answers_apart(tmp_path: Path) -> None:
    unsure = Unsure("left ovary CL 40", ("left ovary CL 14",))
    assert Desk(tmp_path, Speak.VALUES).hear(unsure) == ["forty or fourteen?"]


def test_the_ear_is_closed_before_and_behind_its_own_words(tmp_path: Path) -> None:
    desk = Desk(tmp_path, Speak.ALL)
    desk.hear("cow 412")
    (spoke,) = desk.spoke()
    assert spoke.from_s < desk.ear.at_s
    assert desk.ear.closed_until_s == spoke.until_s
    assert spoke.until_s > desk.ear.at_s + desk.played.lengths_s[-1]


def test_nobody_is_interrupted(tmp_path: Path) -> None:
    desk = Desk(tmp_path, Speak.ALL)
    desk.ear.speaking = True
    assert desk.hear("cow 412") == []
    desk.ear.speaking = False
    desk.aloud.when_quiet()
    assert len(desk.said()) == 1


def test_chatter_is_answered_by_a_tone_alone(tmp_path: Path) -> None:
    desk = Desk(tmp_path, Speak.ALL)
    assert desk.hear(Chatter("hold her please")) == []
    assert len(desk.played.lengths_s) == 1
