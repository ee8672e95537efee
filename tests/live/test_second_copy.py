"""The second copy on a stick is whole after each animal, and the visit goes on from it."""

from __future__ import annotations

import random
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import pytest

from dictation.audio.endpoint import Utterance
from dictation.audio.keep import load_utterance, stop_at_damaged_sound
from dictation.audio.samples import SAMPLE_RATE_HZ, Samples
from dictation.cli.app import run
from dictation.errors import MissingError, WrongUseError
from dictation.live.events import Message
from dictation.live.session import Begin, session_in
from dictation.recognition.protocol import Heard, Hypothesis, Outcome
from dictation.visit.journal import Journal
from dictation.visit.state import Visit
from grammar.normalise import normalise

FIRST, ANIMALS = 400, 60
KILLS = 6


class Cows:
    """Hears a new cow in every sound, and that she is open."""

    name = "cows"

    def __init__(self, first: int = FIRST) -> None:
        self._next = first

    def recognise(self, samples: Samples) -> Heard:
        text = f"next cow {self._next}, open"
        self._next += 1
        found = Hypothesis(text, normalise(text), (), 0.0, 1)
        return Heard(Outcome.HEARD, (found,), text, confidence=1.0)


def sound(number: int) -> Utterance:
    samples = np.full(SAMPLE_RATE_HZ // 4, 0.1, np.float32)
    return Utterance(samples, 1.0 * number, 1.0 * number + 0.25, number)


def heard(folder: Path, copy: Path | None, animals: int, pause_s: float = 0.0) -> None:
    """A visit that is spoken, an animal a sound."""
    with session_in(Begin(folder, copy=copy), Cows()) as session:
        for number in range(1, animals + 1):
            session.hear(sound(number))
            time.sleep(pause_s)


def whole_visit(folder: Path) -> Visit:
    """The visit of a folder, each of its sounds there and as it was."""
    with Journal.read(folder) as journal:
        visit = journal.visit()
    for phrase in visit.phrases:
        if phrase.audio is not None:
            stop_at_damaged_sound(folder / "audio" / phrase.audio, phrase.audio_digest)
            load_utterance(folder / "audio" / phrase.audio)
    return visit


def test_at_the_end_the_copy_is_the_visit(tmp_path: Path) -> None:
    folder, copy = tmp_path / "visit", tmp_path / "stick"
    heard(folder, copy, 5)
    assert whole_visit(copy) == whole_visit(folder)
    for name in ("exams.csv", "findings.csv", "questions.csv"):
        assert (copy / name).read_bytes() == (folder / name).read_bytes()
    assert run(["check", str(copy)]) == 0


def test_killed_at_any_moment_the_copy_is_whole_and_goes_on(tmp_path: Path) -> None:
    chance = random.Random(22)
    behind = []
    for kill in range(KILLS):
        folder, copy = tmp_path / f"{kill}", tmp_path / f"{kill}-stick"
        code = "import sys; from pathlib import Path; from tests.live.test_second_copy import heard"
        call = f"heard(Path(sys.argv[1]), Path(sys.argv[2]), {ANIMALS}, 0.02)"
        command = [sys.executable, "-c", f"{code}; {call}", str(folder), str(copy)]
        process = subprocess.Popen(command)
        while not (copy / "exams.csv").exists() and process.poll() is None:
            time.sleep(0.01)
        time.sleep(chance.random())
        process.kill()
        process.wait()
        here, there = whole_visit(folder), whole_visit(copy)
        assert here.phrases[: len(there.phrases)] == there.phrases
        behind.append(len(here.exams) - len(there.exams))
        script = tmp_path / "more.txt"
        script.write_text("next cow 999\nopen\n")
        assert run(["replay", str(script), "--out", str(copy)]) == 0
        assert whole_visit(copy).exams[-1].tag == "999"
        assert len(whole_visit(copy).exams) == len(there.exams) + 1
    # A stick may take longer than an animal here, where one lasts a fiftieth of a second.
    assert min(behind) <= 3, behind


def test_a_copy_that_was_gone_on_with_is_not_overwritten(tmp_path: Path) -> None:
    folder, copy = tmp_path / "visit", tmp_path / "stick"
    heard(folder, copy, 2)
    script = tmp_path / "more.txt"
    script.write_text("next cow 999\nopen\n")
    assert run(["replay", str(script), "--out", str(copy)]) == 0
    with pytest.raises(WrongUseError, match="gone on with there"):
        heard(folder, copy, 1)
    assert whole_visit(copy).exams[-1].tag == "999"


def test_a_stick_that_is_not_there_is_said_at_once(tmp_path: Path) -> None:
    with pytest.raises(MissingError, match="put the stick in"):
        heard(tmp_path / "visit", tmp_path / "no stick" / "visit", 1)


def test_a_stick_that_is_pulled_out_is_told_and_the_visit_goes_on(tmp_path: Path) -> None:
    folder, copy = tmp_path / "visit", tmp_path / "stick" / "visit"
    copy.parent.mkdir()
    told: list[str] = []
    with session_in(Begin(folder, copy=copy), Cows()) as session:
        for number in range(1, 8):
            events = session.hear(sound(number))
            told += [event.sentence for event in events if isinstance(event, Message)]
            if number == 3:
                copy.parent.rename(tmp_path / "pulled")
            if number == 6:
                (tmp_path / "pulled").rename(copy.parent)
            time.sleep(0.3)
    assert any("second copy" in sentence for sentence in told)
    assert len(whole_visit(folder).exams) == 7
    assert whole_visit(copy) == whole_visit(folder)
