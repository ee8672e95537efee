"""Loudness of the input must not matter: a slow gain before voice activity detection."""

from __future__ import annotations

import numpy as np

from dictation.audio.samples import Samples

TARGET_DBFS = -20.0
"""RMS to which the loudest recent blocks are brought."""

GREATEST_GAIN_DB = 36.0
"""Beyond this the noise of the input itself is brought up to the level of speech."""

FALL_DB_PER_S = 0.5
"""How fast the remembered level falls. Faster follows a vet who walks off sooner; slower leaves the
noise between phrases down where it belongs."""

_FLOOR = 1e-9


class SlowGain:
    """Brings speech to one level; takes blocks in order, of a fixed length in seconds."""

    def __init__(self, block_s: float) -> None:
        self._fall = 10.0 ** (-FALL_DB_PER_S * block_s / 20.0)
        self._target = 10.0 ** (TARGET_DBFS / 20.0)
        self._greatest = 10.0 ** (GREATEST_GAIN_DB / 20.0)
        self._level = self._target / self._greatest

    def apply(self, block: Samples) -> Samples:
        """The block at the common level, clipped to -1..1."""
        rms = float(np.sqrt(np.mean(np.square(block, dtype=np.float64)) + _FLOOR**2))
        # Up at once: the first syllable after a silence must not be overdriven.
        self._level = max(rms, self._level * self._fall)
        gain = min(self._target / self._level, self._greatest)
        levelled: Samples = np.clip(block * np.float32(gain), -1.0, 1.0)
        return levelled
