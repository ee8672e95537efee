"""Recordings of people and of real sound, from a folder that is none of the project's.

``recordings.csv`` in it has a row a file: file, text, speaker, side, seconds. The file's own folder
says what it is: words, digits, orders, reading, noise or rooms.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import numpy as np
import soundfile as sf
import soxr

from dictation.audio.samples import SAMPLE_RATE_HZ, Samples
from dictation.errors import MissingError
from tests.bench.voices import Split

FOLDER_VARIABLE = "HORNSWEEP_RECORDINGS"
LABELS_NAME = "recordings.csv"
_KEPT = 512  # decoded recordings; words are a second each, and a speaker's come several times


@dataclass(frozen=True, slots=True)
class Recording:
    """One file. ``text``: what is said, '' where unknown; ``speaker``: '' where unknown."""

    path: Path
    name: str
    text: str
    speaker: str
    split: Split

    @property
    def what(self) -> str:
        """What the recording is of: words, digits, orders, reading, noise or rooms."""
        return self.name.partition("/")[0]

    def samples(self) -> Samples:
        """The whole of it, mono float32 at 16 kHz. Raises what soundfile raises."""
        return _decoded(self.path)


def recordings(folder: Path, split: Split) -> tuple[Recording, ...]:
    """The recordings of one side, in the order of the list. Raises MissingError.

    Whoever is heard on the tune side is not held out, whatever the list says.
    """
    path = folder / LABELS_NAME
    if not path.is_file():
        raise MissingError(
            f"{folder} holds no {LABELS_NAME}: name the folder of recordings with --recordings or"
            f" {FOLDER_VARIABLE}."
        )
    with path.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    known = {row["speaker"] for row in rows if row["side"] == Split.TUNE.value} - {""}
    return tuple(
        Recording(folder / row["file"], row["file"], row["text"], row["speaker"], split)
        for row in rows
        if row["side"] == split.value and (split is Split.TUNE or row["speaker"] not in known)
    )


@lru_cache(maxsize=_KEPT)
def _decoded(path: Path) -> Samples:
    sound, rate_hz = sf.read(path, dtype="float32", always_2d=True)
    mono = soxr.resample(sound.mean(axis=1), rate_hz, SAMPLE_RATE_HZ)
    kept = np.asarray(mono, np.float32)
    kept.flags.writeable = False  # handed out again and again
    return kept
