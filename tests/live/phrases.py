"""Phrases of the demonstration recording, cut out by its transcript, as files to be played."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import soundfile as sf

from dictation.cli.demo import IN_SOURCE as FIXTURES

BEFORE_S, BEHIND_S = 0.2, 0.3
PAUSE_S = 1.0


def play_list(path: Path, *phrases: str, pause_s: float = PAUSE_S) -> Path:
    """Write these phrases, as the transcript writes them, into one file, with pauses behind."""
    parts: list[np.ndarray] = []
    rate_hz = 0
    for words in phrases:
        at_s, until_s = _place(words)
        with sf.SoundFile(FIXTURES / "demo_visit.flac") as file:
            rate_hz = file.samplerate
            file.seek(int((at_s - BEFORE_S) * rate_hz))
            length = int((until_s - at_s + BEFORE_S + BEHIND_S) * rate_hz)
            parts.append(file.read(length, dtype="float32"))
        parts.append(np.zeros(int(pause_s * rate_hz), np.float32))
    sf.write(path, np.concatenate(parts), rate_hz)
    return path


def _place(words: str) -> tuple[float, float]:
    text = (FIXTURES / "demo_visit.transcript.csv").read_text(encoding="utf-8")
    for row in csv.DictReader(text.splitlines()):
        if row["words"] == words:
            return float(row["at_s"]), float(row["until_s"])
    raise LookupError(f"the demonstration does not say '{words}'")
