"""Loudness and where the voice is: the model must not depend on one, must account for the other.

Frames are 10 ms. The level of the loud frames is brought to one value before the model hears it, so
that a far microphone and a near one give the same words.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from dictation.audio.samples import SAMPLE_RATE_HZ, Samples

FRAME_SAMPLES = SAMPLE_RATE_HZ // 100
FRAME_S = FRAME_SAMPLES / SAMPLE_RATE_HZ
#: Level of the loud frames after normalising, root mean square of full scale. The model was tried
#: from 0.003 to 0.3 and is indifferent between 0.03 and 0.2.
TARGET_LEVEL = 0.08
#: Below this root mean square (-80 dB of full scale) there is nothing a microphone picked up.
DEAD_LEVEL = 1e-4
#: A frame is voiced when it is this share of the way, in dB, from the noise floor to the loud
#: frames, but no further than VOICED_ABOVE_FLOOR_DB. Larger misses soft endings in noise, smaller
#: counts noise as voice.
VOICED_SHARE = 0.3
#: Enough above any floor, in dB; larger misses soft endings, smaller counts breath as speech.
VOICED_ABOVE_FLOOR_DB = 9.0
#: A frame further than this below the loud frames is not voiced, whatever the floor, in dB.
VOICED_BELOW_LOUD_DB = 30.0
#: Frames averaged before comparing (50 ms): a single frame of noise wanders too far.
_SMOOTHED_FRAMES = 5
#: Loud over floor, as a ratio, below which a sound longer than STEADY_S is hum or rain and holds no
#: voice. Speech in pink noise at 5 dB has 2.5 or more, pink or white noise alone 1.25 or less.
STEADY_RATIO = 1.4
STEADY_S = 0.4


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
    levels = _smoothed(levels)
    loud = float(np.percentile(levels, 95))
    floor = float(np.percentile(levels, 10))
    if len(levels) * FRAME_S > STEADY_S and loud < STEADY_RATIO * floor:
        return Level(loud, floor, np.zeros(len(levels), np.bool_))
    range_db = 20 * float(np.log10(max(loud, DEAD_LEVEL) / max(floor, DEAD_LEVEL / 100)))
    above_db = min(VOICED_SHARE * range_db, VOICED_ABOVE_FLOOR_DB)
    over = max(floor * 10 ** (above_db / 20), loud * 10 ** (-VOICED_BELOW_LOUD_DB / 20))
    return Level(loud, floor, _bridged(levels > max(over, DEAD_LEVEL)))


def _smoothed(levels: NDArray[np.float64]) -> NDArray[np.float64]:
    """Levels as the mean power over neighbouring frames."""
    half = _SMOOTHED_FRAMES // 2
    power = np.pad(levels**2, half, mode="edge")
    total = np.convolve(power, np.ones(_SMOOTHED_FRAMES), mode="valid")
    return np.asarray(np.sqrt(total / _SMOOTHED_FRAMES))


def _bridged(voiced: NDArray[np.bool_], gap: int = 15) -> NDArray[np.bool_]:
    """Fill gaps of up to 150 ms (stops inside words) and drop bursts under 30 ms (clicks)."""
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
