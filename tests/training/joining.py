"""Two phrases of one voice in one breath, a pause or a drawn breath between them.

A model that is trained on single phrases with others talking behind them learns to stop at the
first pause. These teach it that a pause is no end.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from dictation.audio.samples import SAMPLE_RATE_HZ
from tests.training.corpus import TRADE, Recording

PAUSE_S = (0.1, 0.8)
#: Of a drawn breath, as a share of the level of the phrase before it.
BREATH_LEVEL = (0.02, 0.12)
BREATH_SHARE = 0.4
#: Longer than this in one piece is not trained on: what is spoken is cut at 12 s as well.
LONGEST_S = 9.0


def joined(recordings: Sequence[Recording], count: int, seed: int) -> list[Recording]:
    """At most ``count`` new recordings of two trade phrases each, none of them validating."""
    rng = np.random.default_rng(seed)
    by_voice: dict[str, list[Recording]] = defaultdict(list)
    for recording in recordings:
        if recording.kind == TRADE and not recording.validation:
            by_voice[recording.voice].append(recording)
    voices = [v for v, spoken in by_voice.items() if len(spoken) > 1]
    if not voices:
        return []
    shares = np.array([len(by_voice[v]) for v in voices], float)
    drawn = rng.choice(len(voices), count, p=shares / shares.sum())
    pairs = (rng.choice(len(by_voice[voices[v]]), 2, replace=False) for v in drawn)
    both = (
        _both(by_voice[voices[v]][a], by_voice[voices[v]][b], rng)
        for v, (a, b) in zip(drawn, pairs, strict=True)
    )
    return [r for r in both if len(r.samples) <= LONGEST_S * SAMPLE_RATE_HZ]


def _both(first: Recording, second: Recording, rng: np.random.Generator) -> Recording:
    between = _pause(first.samples, rng)
    samples = np.concatenate([first.samples, between, second.samples])
    written = f"{first.written} {second.written}"
    return Recording(samples, first.kind, first.voice, written, validation=False)


def _pause(before: NDArray[np.int16], rng: np.random.Generator) -> NDArray[np.int16]:
    """Silence, or by chance a drawn breath in it."""
    length = int(rng.uniform(*PAUSE_S) * SAMPLE_RATE_HZ)
    if rng.random() >= BREATH_SHARE:
        return np.zeros(length, np.int16)
    loud = float(np.sqrt(np.mean(before.astype(np.float64) ** 2))) * rng.uniform(*BREATH_LEVEL)
    hiss = np.convolve(rng.standard_normal(length), (0.6, 0.3, 0.1), mode="same")
    return np.asarray(hiss * np.hanning(length) * 2.0 * loud).astype(np.int16)
