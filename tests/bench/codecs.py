"""Speech codecs of wireless headsets, as coarse as they are: what goes in comes out as it is heard.

Not bit for bit what is transmitted; the loss is. Rates and bands are those of the open standards
(ITU-T G.711; of hands-free radio headsets CVSD, and the sub-band codec with eight bands, 15 blocks
and a bit pool of 26), from memory. Everything takes and gives mono float32 at 16 kHz, equally long.
"""

from __future__ import annotations

import numpy as np
import soxr
from numpy.typing import NDArray
from scipy import signal

from dictation.audio.samples import SAMPLE_RATE_HZ, Samples

NARROW_HZ, WIDE_HZ = (300.0, 3400.0), (50.0, 7000.0)
NARROW_RATE_HZ = 8000
PACKET = 120  # samples at 16 kHz: 7.5 ms

_MU = 255.0
_CVSD_RATE_HZ = 64_000
_STEP, _STEP_MOST = 10 / 32768, 1280 / 32768
_STEP_KEPT = 1 - 1 / 1024
_LEAK = 1 - 1 / 32  # of the integrator
_BANDS, _BLOCKS, _POOL = 8, 15, 26
_BITS_MOST = 16
_SMALLEST = 2.0**-15  # scale factors below it are silence


def band(sound: Samples, low_hz: float, high_hz: float) -> Samples:
    """What lies between two frequencies."""
    passed = signal.butter(4, [low_hz, high_hz], "bandpass", fs=SAMPLE_RATE_HZ, output="sos")
    kept: Samples = signal.sosfilt(passed, sound).astype(np.float32)
    return kept


def mu_law(sound: Samples) -> Samples:
    """Narrow band, 8 bits on a logarithmic scale at 8 kHz."""
    narrow = np.clip(_at(band(sound, *NARROW_HZ), SAMPLE_RATE_HZ, NARROW_RATE_HZ), -1, 1)
    squeezed = np.sign(narrow) * np.log1p(_MU * np.abs(narrow)) / np.log1p(_MU)
    stepped = np.round(squeezed * 127) / 127
    opened = np.sign(stepped) * np.expm1(np.abs(stepped) * np.log1p(_MU)) / _MU
    return _fitted(_at(opened, NARROW_RATE_HZ, SAMPLE_RATE_HZ), len(sound))


def cvsd(sound: Samples) -> Samples:
    """Narrow band, one bit a sample at 64 kHz; the step grows while four bits agree."""
    fast = _at(band(sound, *NARROW_HZ), SAMPLE_RATE_HZ, _CVSD_RATE_HZ)
    decoded = np.empty(len(fast))
    level, step, bits = 0.0, _STEP, 0b0101
    for place, wanted in enumerate(fast.tolist()):
        up = wanted >= level
        bits = (bits << 1 | up) & 0b1111
        agree = bits in {0b0000, 0b1111}
        step = min(step + _STEP, _STEP_MOST) if agree else max(step * _STEP_KEPT, _STEP)
        level = _LEAK * (level + (step if up else -step))
        decoded[place] = level
    slow = _fitted(_at(decoded, _CVSD_RATE_HZ, SAMPLE_RATE_HZ), len(sound))
    return band(slow, *NARROW_HZ)


def sub_bands(sound: Samples) -> Samples:
    """Wide band in eight sub-bands, bits given to the loudest of each 7.5 ms, 60 kbit/s."""
    wide = band(sound, *WIDE_HZ)
    frame = _BANDS * _BLOCKS
    padded = np.pad(wide, (_BANDS, frame + _BANDS - len(wide) % frame))
    blocks = (len(padded) // _BANDS - 1) // _BLOCKS * _BLOCKS
    starts = np.arange(blocks)[:, None] * _BANDS + np.arange(2 * _BANDS)
    lapped = _lapped()
    spectrum = padded[starts] @ lapped.T
    frames = spectrum.reshape(-1, _BLOCKS, _BANDS)
    coarse = np.stack([_quantised(one) for one in frames]).reshape(-1, _BANDS)
    whole = np.zeros(len(padded))
    np.add.at(whole, starts, coarse @ lapped)
    return _fitted(whole[_BANDS:], len(sound))


def _lapped() -> NDArray[np.float64]:
    """The lapped cosine transform of eight bands over 16 samples; it is its own inverse."""
    n, k = np.arange(2 * _BANDS), np.arange(_BANDS)[:, None]
    window = np.sin(np.pi / (2 * _BANDS) * (n + 0.5))
    waves = np.cos(np.pi / _BANDS * (n + 0.5 + _BANDS / 2) * (k + 0.5))
    return np.asarray(np.sqrt(2 / _BANDS) * window * waves)


def _quantised(frame: NDArray[np.float64]) -> NDArray[np.float64]:
    """One frame, blocks by bands, as its bits leave it."""
    loudest = np.abs(frame).max(axis=0)
    scale = 2.0 ** np.ceil(np.log2(np.maximum(loudest, _SMALLEST)))
    need = np.where(loudest > _SMALLEST, np.log2(scale / _SMALLEST), -np.inf)
    bits = np.zeros(_BANDS, int)
    for _ in range(_POOL):  # one bit at a time to the band that is worst off
        worst = int(np.argmax(np.where(bits < _BITS_MOST, need - bits, -np.inf)))
        bits[worst] += 1
    steps = 2.0**bits - 1
    held = np.maximum(steps, 1)
    coarse = (np.floor((frame / scale + 1) / 2 * held).clip(0, held - 1) + 0.5) / held * 2 - 1
    return np.where(steps > 1, coarse * scale, 0.0)


def lost_packets(sound: Samples, seed: int, share: float, burst: float = 2.0) -> Samples:
    """Packets of 7.5 ms lost, ``share`` of them, ``burst`` running on average: the last one that
    came is repeated, half as loud each time."""
    random = np.random.default_rng(seed)
    heard = np.array(sound, np.float32)
    is_lost = False
    begins = share / (1 - share) / burst
    for start in range(PACKET, len(heard), PACKET):
        is_lost = random.random() < (1 - 1 / burst if is_lost else begins)
        if is_lost:
            size = min(PACKET, len(heard) - start)
            heard[start : start + size] = 0.5 * heard[start - PACKET : start - PACKET + size]
    return heard


def _at(sound: Samples | NDArray[np.float64], from_hz: int, to_hz: int) -> NDArray[np.float64]:
    return np.asarray(soxr.resample(np.asarray(sound, np.float64), from_hz, to_hz))


def _fitted(sound: NDArray[np.float64], count: int) -> Samples:
    fitted: Samples = np.pad(sound[:count], (0, max(0, count - len(sound)))).astype(np.float32)
    return fitted
