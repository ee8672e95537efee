"""How loud the microphone is, and whether that will do."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from dictation.audio.samples import SAMPLE_RATE_HZ, Samples

FLOOR_DBFS = -100.0

CLIPPED_AT = 0.985
"""Samples this near full scale were cut off by the converter or the driver."""

CLIPPED_SHARE = 0.0005
"""Share of cut-off samples in the window from which hearing suffers; a lone knock stays below."""

TOO_QUIET_DBFS = -50.0
"""Speech whose loudest half second is below this comes near the noise of cheap converters."""

DEAD_DBFS = -85.0
"""A working microphone gives more than this, even in a quiet room: ours measured -75 and above."""

WINDOW_S = 3.0
SHOWN_S = 0.3


class Verdict(StrEnum):
    """What is wrong with the level, in words for the screen."""

    GOOD = "good"
    CLIPPING = "too loud: cut off"
    TOO_QUIET = "speech too quiet"
    DEAD = "no sound"


@dataclass(frozen=True, slots=True)
class Level:
    """Loudness now: root mean square in dBFS of the last 0.3 s, and the verdict."""

    rms_dbfs: float = FLOOR_DBFS
    verdict: Verdict = Verdict.GOOD


def dbfs(value: float) -> float:
    """An amplitude of 0 to 1 in dB of full scale, no lower than the floor."""
    return max(FLOOR_DBFS, 20.0 * float(np.log10(value + 1e-12)))


class Meter:
    """Takes every piece of the microphone; ``level`` is what it has come to."""

    def __init__(self) -> None:
        self._pieces: deque[tuple[int, float, float, int]] = deque()
        self._samples = 0
        self._speech: deque[float] = deque(maxlen=5)
        self.level = Level()

    def push(self, samples: Samples) -> None:
        """Take samples in order."""
        if not len(samples):
            return
        loud = np.abs(samples)
        power = float(np.dot(samples, samples))
        piece = (len(samples), power, float(loud.max()), int((loud >= CLIPPED_AT).sum()))
        self._pieces.append(piece)
        self._samples += len(samples)
        while self._samples - self._pieces[0][0] > WINDOW_S * SAMPLE_RATE_HZ:
            self._samples -= self._pieces.popleft()[0]
        self.level = self._measure()

    def spoken(self, samples: Samples) -> None:
        """Take an utterance: how loud the speaker is at the microphone."""
        step = SAMPLE_RATE_HZ // 4
        parts = [samples[at : at + step] for at in range(0, max(1, len(samples) - step), step)]
        loudest = max(float(np.sqrt(np.mean(np.square(part)))) for part in parts)
        self._speech.append(dbfs(loudest))
        self.level = self._measure()

    def _measure(self) -> Level:
        count, power = 0, 0.0
        for length, energy, _, _ in reversed(self._pieces):
            count, power = count + length, power + energy
            if count >= SHOWN_S * SAMPLE_RATE_HZ:
                break
        return Level(dbfs(float(np.sqrt(power / max(1, count)))), self._verdict())

    def _verdict(self) -> Verdict:
        if sum(p[3] for p in self._pieces) > CLIPPED_SHARE * max(1, self._samples):
            return Verdict.CLIPPING
        window_full = self._samples > 0.9 * WINDOW_S * SAMPLE_RATE_HZ
        if window_full and dbfs(max(p[2] for p in self._pieces)) < DEAD_DBFS:
            return Verdict.DEAD
        if self._speech and float(np.median(self._speech)) < TOO_QUIET_DBFS:
            return Verdict.TOO_QUIET
        return Verdict.GOOD
