"""Where the recording of the demonstration lies, and of which day it is."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from datetime import date
from pathlib import Path

FOLDER = Path(__file__).resolve().parents[2] / "audio_fixtures"


@dataclass(frozen=True, slots=True)
class Demonstration:
    """The recording, its herd list and its day."""

    recording: Path
    herd: Path
    on: date
    farm: str


def demonstration() -> Demonstration | None:
    """The shipped recording; None where only the program was installed."""
    recording = FOLDER / "demo_visit.flac"
    herd = FOLDER / "demo_herd.csv"
    scenario = FOLDER / "demo_visit.toml"
    if not (recording.is_file() and herd.is_file() and scenario.is_file()):
        return None
    visit = tomllib.loads(scenario.read_text(encoding="utf-8"))["visit"]
    return Demonstration(recording, herd, visit["date"], visit["farm"])
