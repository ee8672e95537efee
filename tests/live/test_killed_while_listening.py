"""Killed at random moments while listening: nothing that reached the disk is lost or doubled."""

from __future__ import annotations

import contextlib
import itertools
import os
import random
import subprocess
import sys
import time
from collections import defaultdict
from pathlib import Path

import numpy as np

from dictation.audio.endpoint import SHORTEST_SPEECH_S
from dictation.audio.keep import load_utterance
from dictation.audio.samples import SAMPLE_RATE_HZ
from dictation.audio.spool import spooled
from dictation.visit.apply import fold
from dictation.visit.journal import Journal
from tests.live.bursts import (
    BURST_S,
    BURSTS,
    FIRST_TAG,
    SPEED,
    all_bursts,
    first_of,
    number_in,
    tag_of,
)

KILLS = int(os.environ.get("HORNSWEEP_KILLS", "12"))
"""How often the process is killed; the long run sets 200."""

LOUD = 0.05

SHORTEST_PIECE_S = SHORTEST_SPEECH_S + 0.032
"""Speech shorter than this may be a blip: it is counted in whole blocks."""


def start(folder: Path) -> subprocess.Popen[bytes]:
    return subprocess.Popen([sys.executable, "-m", "tests.live.bursts", str(folder)])


def spooled_bytes(folder: Path) -> int:
    total = 0
    for path in folder.glob("audio/stream/*.s16"):
        with contextlib.suppress(FileNotFoundError):  # it has just been compressed
            total += path.stat().st_size
    return total


def loud_seconds(folder: Path) -> dict[int, float]:
    """Seconds of tone in the kept utterances, by burst."""
    seconds: dict[int, float] = defaultdict(float)
    with Journal.read(folder) as journal:
        phrases = fold(journal.acts()).phrases
    for phrase in phrases:
        assert phrase.audio is not None, phrase
        samples = load_utterance(folder / "audio" / phrase.audio)
        loud = np.flatnonzero(np.abs(samples) > LOUD)
        seconds[number_in(samples)] += (loud[-1] - loud[0] + 1) / SAMPLE_RATE_HZ
    return seconds


def killed_visit(folder: Path, kills: int, chance: random.Random) -> None:
    """Listen, killed so many times, and then to the end."""
    for _ in range(kills):
        process = start(folder)
        begun = spooled_bytes(folder)
        while process.poll() is None and spooled_bytes(folder) in (0, begun):
            time.sleep(0.005)
        time.sleep(chance.random() * 2.0 * BURSTS / SPEED / max(kills, 12))
        process.kill()
        process.wait()
    process = start(folder)
    assert process.wait(180) == 0


def test_every_burst_is_heard_once_however_often_it_was_killed(tmp_path: Path) -> None:
    killed_visit(tmp_path, KILLS, random.Random(20261118))
    seconds = loud_seconds(tmp_path)
    assert sorted(seconds) == list(range(BURSTS))
    stretches = [samples for _, samples in spooled(tmp_path, 0.0)]
    assert np.allclose(np.concatenate(stretches), all_bursts(), atol=2 / 32768)
    cuts = [0, *itertools.accumulate(len(samples) for samples in stretches)]
    for number, heard_s in seconds.items():
        # Of a burst that was cut, pieces too short to be a word are kept, but not heard.
        pieces = 1 + sum(first_of(number) < cut < first_of(number + 1) for cut in cuts)
        least = BURST_S - SHORTEST_PIECE_S * (pieces if pieces > 1 else 0)
        assert least - 0.01 <= heard_s <= BURST_S + 0.01, tag_of(number)
    with Journal.read(tmp_path) as journal:
        exams = fold(journal.acts()).exams
    tags = [int(exam.tag or 0) - FIRST_TAG for exam in exams]
    assert sorted(set(tags)) == list(range(BURSTS))
    times = [(r.at_s, r.until_s) for e in exams for r in e.recorded]
    assert times == sorted(times)
