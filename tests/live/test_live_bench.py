"""The live path measured in real time."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from dictation.audio.endpoint import SENTENCE_HANG_OVER_S
from dictation.cli.demo import IN_SOURCE as FIXTURES
from tests.bench import live_latency
from tests.bench.live import measured
from tests.bench.virtual_microphone import missing_commands

ROOT = Path(__file__).resolve().parents[2]


def test_every_utterance_of_the_stretch_is_timed() -> None:
    found = measured(FIXTURES / "demo_visit.flac", 7.5)
    assert len(found.from_end_s) == len(found.from_voice_s) >= 2
    assert all(s >= 0.0 for s in found.from_end_s)
    assert found.glimpses > 0
    assert found.wall_s >= 7.0


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
