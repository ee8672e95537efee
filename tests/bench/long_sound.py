"""Hours of sound with known phrases at known places, made while it is read."""

from __future__ import annotations

import csv
import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from time import sleep

import numpy as np

from dictation.audio.reading import Heed, ignore
from dictation.audio.recording import open_recording
from dictation.audio.samples import SAMPLE_RATE_HZ, Samples
from dictation.audio.voice_activity import BLOCK_SAMPLES
from dictation.cli.demo import IN_SOURCE as FIXTURES

IDLE_SHARE = 2.0
"""In the shipped visit 16 animals pass in seven minutes; so much quiet behind it, in parts of its
length, makes that forty-five an hour."""

FAINT = 3e-4
"""Amplitude of the noise in the quiet, about -75 dBFS; digital silence would pack away to
nothing, and one place in it would be like another."""

WAIT_S = 0.002


def shipped_visit(seconds: float = math.inf) -> tuple[Samples, tuple[float, ...]]:
    """So much of the shipped visit in whole blocks, and where its phrases begin, seconds."""
    folder = FIXTURES
    recording = open_recording(folder / "demo_visit.flac")
    samples = np.concatenate(list(recording.blocks()))
    blocks = min(len(samples), seconds * SAMPLE_RATE_HZ) // BLOCK_SAMPLES
    whole = samples[: int(blocks) * BLOCK_SAMPLES]
    text = (folder / "demo_visit.transcript.csv").read_text(encoding="utf-8")
    rows = csv.DictReader(text.splitlines())
    return whole, tuple(
        float(row["at_s"]) for row in rows if float(row["until_s"]) * SAMPLE_RATE_HZ < len(whole)
    )


@dataclass(slots=True)
class LongSound:
    """A ``FrameSource``: the visit and quiet behind it, again and again, for so many samples.

    ``wait``: says whether the reader should be held up; it reads as fast as it is let.
    """

    visit: Samples
    samples: int
    wait: Callable[[], bool]
    _idle: int = field(init=False)

    def __post_init__(self) -> None:
        blocks = round(len(self.visit) * IDLE_SHARE / BLOCK_SAMPLES)
        self._idle = blocks * BLOCK_SAMPLES

    @property
    def round_s(self) -> float:
        """Length of one round."""
        return (len(self.visit) + self._idle) / SAMPLE_RATE_HZ

    def blocks(self, heed: Heed = ignore) -> Iterator[Samples]:
        """Blocks in order, none before the reader is ready for it."""
        a_round = len(self.visit) + self._idle
        for at in range(0, self.samples, BLOCK_SAMPLES):
            while self.wait():
                sleep(WAIT_S)
            yield self._block(at % a_round)

    def between(self, first: int, count: int) -> Samples:
        """What was given out from a sample on, both in whole blocks."""
        a_round = len(self.visit) + self._idle
        places = range(first, first + count, BLOCK_SAMPLES)
        return np.concatenate([self._block(at % a_round) for at in places])

    def _block(self, at: int) -> Samples:
        if at < len(self.visit):
            return self.visit[at : at + BLOCK_SAMPLES]
        noise = np.random.default_rng(at).uniform(-FAINT, FAINT, BLOCK_SAMPLES)
        return noise.astype(np.float32)
