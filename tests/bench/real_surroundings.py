"""Real noise and real rooms around a voice, from a folder of recordings."""

from __future__ import annotations

import random
from functools import cache
from pathlib import Path

import numpy as np
from scipy import signal

from dictation.audio.samples import SAMPLE_RATE_HZ, Samples
from tests.bench import shed_noise
from tests.bench.real_recordings import Recording, recordings
from tests.bench.voices import Split

BEFORE_PEAK_DB = -7.0
"""A room's own sound begins with the direct path: less than this share of it lies before."""

FALLS_20_DB_S = (0.1, 1.25)
"""Of a room: what falls faster is a filter, what falls slower is an effect."""

DIRECT_DB = 0.0
"""Direct path against all else, at least: the mouth is nearer to the microphone than the
loudspeaker was with which a room is measured. Common practice, no source."""

_DIRECT_S = 0.002  # either side of the peak


def in_noise(speech: Samples, folder: Path, split: Split, seed: int, snr_db: float) -> Samples:
    """Speech with a stretch of a recorded noise of that side, the file and stretch by the seed."""
    rng = random.Random(seed)
    noise = rng.choice(_of(folder, split, "noise")).samples()
    start = rng.randrange(len(noise))
    return shed_noise.mix_at(speech, np.roll(noise, -start), snr_db)


def in_room(speech: Samples, folder: Path, split: Split, seed: int) -> Samples:
    """Speech in a measured room of that side, the room by the seed, as long and as loud as it
    was."""
    response = random.Random(seed).choice(rooms(folder, split))
    wet = signal.fftconvolve(speech, response)
    peak = int(np.argmax(np.abs(response)))
    aligned = wet[peak : peak + len(speech)]
    level = shed_noise.active_rms(speech) / max(shed_noise.active_rms(aligned), 1e-12)
    heard: Samples = (aligned * level).astype(np.float32)
    return heard


@cache
def rooms(folder: Path, split: Split) -> tuple[Samples, ...]:
    """Responses of that side that are rooms by their shape, the direct path raised to DIRECT_DB."""
    every = (one.samples() for one in _of(folder, split, "rooms"))
    return tuple(_raised(one) for one in every if is_room(one))


def is_room(response: Samples) -> bool:
    """Whether it begins with its loudest sample and then falls as rooms do."""
    energy = response.astype(np.float64) ** 2
    peak = int(np.argmax(energy))
    before = energy[: max(0, peak - round(_DIRECT_S * SAMPLE_RATE_HZ))].sum() / energy.sum()
    left = np.cumsum(energy[peak:][::-1])[::-1]
    falls_s = np.argmax(left < 0.01 * left[0]) / SAMPLE_RATE_HZ
    least_s, most_s = FALLS_20_DB_S
    return bool(before < 10 ** (BEFORE_PEAK_DB / 10) and least_s <= falls_s <= most_s)


def _raised(response: Samples) -> Samples:
    peak, reach = int(np.argmax(np.abs(response))), round(_DIRECT_S * SAMPLE_RATE_HZ)
    direct = slice(max(0, peak - reach), peak + reach)
    energy = response.astype(np.float64) ** 2
    here = energy[direct].sum()
    ratio = 10 ** (DIRECT_DB / 10) * (energy.sum() - here) / here
    raised = np.array(response)
    raised[direct] *= np.sqrt(max(1.0, ratio))
    return raised


@cache
def _of(folder: Path, split: Split, what: str) -> tuple[Recording, ...]:
    return tuple(one for one in recordings(folder, split) if one.what == what)
