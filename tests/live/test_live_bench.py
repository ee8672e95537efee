"""The live path measured in real time."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path

from dictation.bench.live import measured


def test_every_utterance_of_the_stretch_is_timed() -> None:
    found = measured(Path(str(files("audio_fixtures").joinpath("demo_visit.flac"))), 7.5)
    assert len(found.from_end_s) == len(found.from_voice_s) >= 2
    assert all(s >= 0.0 for s in found.from_end_s)
    assert found.glimpses > 0
    assert found.wall_s >= 7.0
