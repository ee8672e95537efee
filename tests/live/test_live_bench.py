"""The live path measured in real time."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from dictation.audio.endpoint import SENTENCE_HANG_OVER_S
from grammar.parse import parse
from tests.bench import live_latency
from tests.bench.judging import DAY
from tests.bench.live import measured
from tests.bench.live_visit import COWS, plain, visit_sound
from tests.bench.virtual_microphone import missing_commands

ROOT = Path(__file__).resolve().parents[2]


@pytest.mark.skipif(os.environ.get("HORNSWEEP_LONG") != "1", reason="long: HORNSWEEP_LONG=1")
@pytest.mark.skipif(shutil.which("flite") is None, reason="no flite")
def test_of_a_spoken_cow_each_finding_is_judged_and_each_phrase_timed() -> None:
    found, times = measured(*visit_sound("flite-slt", "clean", 1))
    assert found.said == found.own + found.asked + found.elsewhere + found.lost >= 5
    assert found.own >= 2
    assert len(times.sure) >= 3
    assert len(times.first) <= 1
    # The end is only certain a while after the last voice, so an answer before that is no answer.
    assert min(times.sure) > SENTENCE_HANG_OVER_S
    assert times.wall_s > 10.0


def test_every_phrase_of_the_visit_is_of_our_language() -> None:
    phrases = [plain(words) for phrases in COWS.values() for words in phrases]
    readings = [parse(words, DAY) for words in phrases]
    assert not [r.normal for r in readings if r.unread is not None or r.others]
    assert set(plain(" ".join(phrases)).split()).isdisjoint({",", "|"})


@pytest.mark.skipif(os.environ.get("HORNSWEEP_LONG") != "1", reason="long: HORNSWEEP_LONG=1")
@pytest.mark.skipif(bool(missing_commands()), reason="no sound server")
def test_over_the_virtual_microphone_each_phrase_is_timed_to_record_and_screen() -> None:
    found = live_latency.measured(13.5)
    assert min(map(len, (found.end_to_record, found.voice_to_line, found.voice_to_screen))) >= 3
    assert min(found.end_to_record) >= 0.0
    # The end is only certain a while after the last voice, so an answer before that is no answer.
    assert min(found.voice_to_line + found.voice_to_screen) > SENTENCE_HANG_OVER_S - 0.2
    assert all(use.cpu_s > 0.0 and use.peak_mib > 50.0 for use in found.uses)


def test_without_a_sound_server_one_sentence_says_what_to_install(tmp_path: Path) -> None:
    done = subprocess.run(
        [sys.executable, "-m", "tests.bench", "latency", "--live"],
        cwd=ROOT,
        env={**os.environ, "PATH": str(tmp_path)},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 4
    assert len(done.stderr.strip().splitlines()) == 1
    assert "pulseaudio" in done.stderr
    assert "install" in done.stderr
