"""A process killed at a random moment: the rest of the visit is there, and nothing is doubled."""

from __future__ import annotations

import os
import random
import subprocess
import sys
import time
from datetime import date
from pathlib import Path

import numpy as np

from dictation.audio.endpoint import Utterance
from dictation.audio.keep import keep_utterance
from dictation.audio.samples import SAMPLE_RATE_HZ, Samples
from dictation.errors import BadInputError
from dictation.live.replay import replay
from dictation.live.session import Session
from dictation.recognition.protocol import Heard, Hypothesis, Outcome
from dictation.visit.apply import fold
from dictation.visit.facts import Captured
from dictation.visit.inputs import Noted
from dictation.visit.journal import Journal
from grammar.normalise import normalise
from grammar.parse import parse

KILLS = int(os.environ.get("HORNSWEEP_KILLS", "6"))
COWS = 10 * KILLS
BETWEEN = 20
"""Entries between two kills, at most: there are 30 lines for each."""


def phrases(path: Path) -> Path:
    lines = [
        line
        for tag in range(1000, 1000 + COWS)
        for line in (f"next cow {tag}", "left ovary CL twenty-two", "pregnant forty-five days")
    ]
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return path


def start(file: Path, folder: Path) -> subprocess.Popen[str]:
    arguments = ["replay", str(file), "--out", str(folder), "--date", "2026-11-18"]
    return subprocess.Popen(
        [sys.executable, "-m", "dictation", *arguments],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def entries_in(folder: Path) -> int:
    if not (folder / "visit.sqlite").is_file():
        return 0
    try:
        with Journal.read(folder) as journal:
            return sum(1 for _ in journal.acts())
    except BadInputError:  # killed before the first entry
        return 0


def test_a_visit_killed_again_and_again_comes_out_as_one_that_was_not(tmp_path: Path) -> None:
    file = phrases(tmp_path / "phrases.txt")
    whole, broken = tmp_path / "whole", tmp_path / "broken"
    process = start(file, whole)
    process.communicate()
    assert process.returncode == 0
    chance = random.Random(20261118)
    for _ in range(KILLS):
        process = start(file, broken)
        wanted = entries_in(broken) + chance.randint(1, BETWEEN)
        while process.poll() is None and entries_in(broken) < wanted:
            time.sleep(0.005)
        time.sleep(chance.random() * 0.01)
        process.kill()
        process.communicate()
        after = entries_in(broken)
        assert after >= min(wanted, entries_in(whole))
    process = start(file, broken)
    _, told = process.communicate()
    assert process.returncode == 0, told
    with Journal.read(whole) as one, Journal.read(broken) as other:
        assert one.dump() == other.dump()
        assert list(one.evidence()) == list(other.evidence())
    for name in ("exams.csv", "findings.csv", "questions.csv"):
        assert (whole / name).read_bytes() == (broken / name).read_bytes()


class _Says:
    """A recogniser for sound of which only the loudness matters: it knows one phrase."""

    name = "one phrase"

    def recognise(self, samples: Samples) -> Heard:
        text = "left ovary CL twenty-two"
        found = Hypothesis(text, normalise(text), (), 0.0, 1)
        return Heard(Outcome.HEARD, (found,), text, confidence=1.0)


def spoken(at_s: float) -> Utterance:
    samples = np.full(SAMPLE_RATE_HZ, 0.1, np.float32)
    return Utterance(samples, at_s, at_s + 1.0, 1)


def test_sound_that_was_kept_and_not_heard_is_heard_at_the_next_start(tmp_path: Path) -> None:
    with Journal.write(tmp_path) as journal:
        session = Session(journal, parse, _Says())
        session.begin(date(2026, 11, 18), date(2026, 11, 18))
        session.hear(spoken(1.0))
        session.take(Noted(Captured(2, 3.0, 4.0)))
        keep_utterance(tmp_path, 2, spoken(3.0))
    with Journal.write(tmp_path) as journal:
        session = Session(journal, parse, _Says())
        session.recover()
        assert [p.at_s for p in session.visit.phrases] == [1.0, 3.0]
        assert session.visit.phrases[1].audio == "0002.flac"
        assert session.visit.captured == ()
        assert session.recover() == ()
        assert fold(journal.acts()) == session.visit


def test_speech_cut_off_before_its_sound_was_kept_is_on_record(tmp_path: Path) -> None:
    with Journal.write(tmp_path) as journal:
        session = Session(journal, parse, _Says())
        session.begin(date(2026, 11, 18), date(2026, 11, 18))
        session.take(Noted(Captured(1, 3.0, 4.0)))
        session.recover()
        assert [q.why for q in session.visit.open_queries] == [
            "the program ended before its sound was kept"
        ]


def test_the_same_file_again_is_not_taken_twice(tmp_path: Path) -> None:
    file = phrases(tmp_path / "phrases.txt")
    with Journal.write(tmp_path / "visit") as journal:
        session = Session(journal, parse)
        session.begin(date(2026, 11, 18), date(2026, 11, 18))
        assert list(replay(session, file))
        before = session.visit
        assert list(replay(session, file)) == []
        assert session.visit == before


def test_a_visit_goes_on_in_the_folder_that_holds_it(tmp_path: Path) -> None:
    with Journal.write(tmp_path) as journal:
        session = Session(journal, parse, _Says())
        assert not session.begin(date(2026, 11, 18), date(2026, 11, 18))
        session.hear(spoken(1.0))
    kept = sorted((tmp_path / "audio").iterdir())
    with Journal.write(tmp_path) as journal:
        session = Session(journal, parse, _Says())
        assert session.begin(None, date(2026, 11, 19))
        session.hear(spoken(5.0))
        numbers = [p.number for p in session.visit.phrases]
    assert numbers == [1, 2]
    assert {path.name for path in kept} < {p.name for p in (tmp_path / "audio").iterdir()}
