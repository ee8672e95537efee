"""Loudness and where the voice is: the model must not depend on one, must account for the other.

Frames are 10 ms. The level of the loud frames is brought to one value before the model hears it, so
that a far microphone and a near one give the same words.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from dictation.recognition.protocol import SAMPLE_RATE_HZ, Samples

FRAME_SAMPLES = SAMPLE_RATE_HZ // 100
FRAME_S = FRAME_SAMPLES / SAMPLE_RATE_HZ
#: Level of the loud frames after normalising, root mean square of full scale. The model was tried
#: from 0.003 to 0.3 and is indifferent between 0.03 and 0.2.
TARGET_LEVEL = 0.08
#: Below this root mean square (-80 dB of full scale) there is nothing a microphone picked up.
DEAD_LEVEL = 1e-4
#: A frame is voiced when it is this far above the noise floor, in dB; larger misses soft endings,
#: smaller counts breath and hum as speech.
VOICED_ABOVE_FLOOR_DB = 9.0
#: A frame further than this below the loud frames is not voiced, whatever the floor, in dB.
VOICED_BELOW_LOUD_DB = 30.0


@dataclass(frozen=True, slots=True)
class Level:
    """Levels of an utterance, root mean square of full scale, and which 10 ms frames are voiced."""

    loud: float
    floor: float
    voiced: NDArray[np.bool_]

    @property
    def voiced_s(self) -> float:
        """Length of the voiced frames in seconds."""
        return float(self.voiced.sum()) * FRAME_S


def frame_levels(samples: Samples) -> NDArray[np.float64]:
    """Root mean square of each whole 10 ms frame."""
    count = len(samples) // FRAME_SAMPLES
    frames = samples[: count * FRAME_SAMPLES].reshape(count, FRAME_SAMPLES).astype(np.float64)
    return np.asarray(np.sqrt((frames**2).mean(axis=1)))


def measure(samples: Samples) -> Level:
    """Levels and voiced frames; an utterance under one frame is dead silence."""
    levels = frame_levels(samples - samples.mean()) if len(samples) else np.zeros(0)
    if not len(levels):
        return Level(0.0, 0.0, np.zeros(0, np.bool_))
    loud = float(np.percentile(levels, 95))
    floor = float(np.percentile(levels, 10))
    over = max(
        floor * 10 ** (VOICED_ABOVE_FLOOR_DB / 20), loud * 10 ** (-VOICED_BELOW_LOUD_DB / 20)
    )
    # Speech end to end has no quiet tenth: its floor is speech, and half way up is the best guess.
    over = min(over, loud / 2)
    return Level(loud, floor, _bridged(levels > max(over, DEAD_LEVEL)))


def _bridged(voiced: NDArray[np.bool_], gap: int = 8) -> NDArray[np.bool_]:
    """Fill gaps of up to 80 ms (stops inside words) and drop bursts under 30 ms (clicks)."""
    filled = voiced.copy()
    edges = np.flatnonzero(voiced)
    for a, b in pairwise(edges):
        if b - a <= gap:
            filled[a:b] = True
    starts, ends = runs(filled)
    for a, b in zip(starts, ends, strict=True):
        if b - a < 3:
            filled[a:b] = False
    return filled


def runs(voiced: NDArray[np.bool_]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """First frame, and one past the last, of each run of voiced frames."""
    change = np.diff(np.concatenate(([0], voiced.astype(np.int8), [0])))
    return np.flatnonzero(change == 1), np.flatnonzero(change == -1)


def levelled(samples: Samples, level: Level) -> Samples:
    """The samples without offset and with the loud frames at TARGET_LEVEL, clipped to -1..1."""
    gain = TARGET_LEVEL / max(level.loud, DEAD_LEVEL)
    sound: Samples = np.clip((samples - samples.mean()) * gain, -1.0, 1.0).astype(np.float32)
    return sound
