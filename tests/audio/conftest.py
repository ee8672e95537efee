from __future__ import annotations

import csv
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest
import soundfile as sf

from dictation.audio.samples import Samples
from dictation.cli.demo import IN_SOURCE as FIXTURES


@dataclass(frozen=True, slots=True)
class Row:
    """A row of the demonstration's transcript."""

    at_s: float
    until_s: float
    words: str
    kind: str
    noise: str


@pytest.fixture(scope="session")
def demo_path() -> Path:
    return FIXTURES / "demo_visit.flac"


@pytest.fixture(scope="session")
def transcript(demo_path: Path) -> list[Row]:
    with demo_path.with_suffix(".transcript.csv").open(encoding="utf-8", newline="") as file:
        return [
            Row(float(r["at_s"]), float(r["until_s"]), r["words"], r["kind"], r["noise"])
            for r in csv.DictReader(file)
        ]


@pytest.fixture(scope="session")
def four_breaths(demo_path: Path, transcript: list[Row]) -> Samples:
    """Four breaths of the quiet half at full scale, 16 kHz, with silence at both ends."""
    start_s, end_s = transcript[3].at_s - 0.5, transcript[6].until_s + 0.5
    sound, rate_hz = sf.read(
        demo_path, start=int(start_s * 16_000), stop=int(end_s * 16_000), dtype="float32"
    )
    assert rate_hz == 16_000
    silence = np.zeros(16_000, np.float32)
    whole: Samples = np.concatenate([silence, sound / np.abs(sound).max(), silence])
    return whole
