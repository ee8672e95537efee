"""What people wear at the crush does to their words: codecs, lost packets, waking late, gain.

Numbers without a source are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from dictation.audio.samples import SAMPLE_RATE_HZ, Samples
from tests.bench import codecs
from tests.bench.speech import BEFORE_S

WAKING_S = (0.08, 0.25)
LOST_SHARES = (0.03, 0.05)
_GAIN_FRAME_S = 0.01
_GAIN_LEVEL = 0.1  # to which everything is brought, root mean square
_GAIN_MOST = 10.0
_FALLS_S, _RISES_S = 0.05, 0.6  # of the gain: down when it gets loud, up again in a pause


@dataclass(frozen=True, slots=True)
class Headset:
    """``snr_db``: of the shed behind the voice, before it enters; ``worn``: sound at 16 kHz and a
    seed to what comes out, equally long."""

    name: str
    worn: Callable[[Samples, int], Samples]
    snr_db: float = 20.0


def waking_late(sound: Samples, seed: int, before_s: float = BEFORE_S) -> Samples:
    """The first 80 to 250 ms of speech missing, and all before it; ``before_s``: where it begins"""
    missing_s = np.random.default_rng(seed).uniform(*WAKING_S)
    heard = np.array(sound, np.float32)
    heard[: round((before_s + missing_s) * SAMPLE_RATE_HZ)] = 0.0
    return heard


def gain_rides(sound: Samples) -> Samples:
    """Automatic gain: turned down as speech gets loud, slowly up in pauses, the noise with it."""
    size = round(_GAIN_FRAME_S * SAMPLE_RATE_HZ)
    frames = np.pad(sound, (0, -len(sound) % size)).reshape(-1, size).astype(np.float64)
    wanted = np.minimum(
        _GAIN_MOST, _GAIN_LEVEL / np.maximum(np.sqrt(np.mean(frames**2, axis=1)), 1e-6)
    )
    gains = np.empty(len(frames))
    gain = 1.0
    for place, target in enumerate(wanted):
        slow_s = _FALLS_S if target < gain else _RISES_S
        gain += (target - gain) * (1 - np.exp(-_GAIN_FRAME_S / slow_s))
        gains[place] = gain
    smooth = np.interp(np.arange(len(sound)), (np.arange(len(gains)) + 0.5) * size, gains)
    return np.asarray(np.clip(sound * smooth, -1, 1), np.float32)


def _lossy(sound: Samples, seed: int) -> Samples:
    share = np.random.default_rng(seed).uniform(*LOST_SHARES)
    return codecs.lost_packets(codecs.sub_bands(sound), seed + 1, float(share))


HEADSETS: tuple[Headset, ...] = (
    Headset("narrow band", lambda sound, _: codecs.mu_law(sound)),
    Headset("narrow band, one bit", lambda sound, _: codecs.cvsd(sound)),
    Headset("wide band", lambda sound, _: codecs.sub_bands(sound)),
    Headset("packets lost", _lossy),
    Headset("wakes late", lambda sound, seed: codecs.sub_bands(waking_late(sound, seed))),
    Headset("gain rides", lambda sound, _: codecs.mu_law(gain_rides(sound))),
)


def headset(name: str) -> Headset:
    """The headset of that name. Raises KeyError."""
    return {one.name: one for one in HEADSETS}[name]
