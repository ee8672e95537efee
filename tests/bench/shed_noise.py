"""The sound of a cattle shed, made up from a seed: noise, room and headset for tests and benches.

Every generator is a pure function of its arguments: mono float32 at 16 kHz, RMS 1 unless said
otherwise; ``seconds`` in s, levels and ratios in dB. The recipes are ours; the physics behind them
(partials of a struck bar, mains hum at twice the line frequency) is textbook acoustics.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy import signal

from dictation.audio.samples import SAMPLE_RATE_HZ, Samples

ACTIVE_SHARE_OF_PEAK = 0.01
"""Samples over this share of the peak count as speech where a ratio is set (-40 dB)."""

_LOWEST_HZ = 30.0
_BAR_PARTIALS = np.array([1.0, 1.58, 2.24, 2.92, 3.46, 4.2])


def rms(sound: Samples) -> float:
    """Root mean square."""
    return float(np.sqrt(np.mean(np.square(sound, dtype=np.float64))))


def active_rms(speech: Samples) -> float:
    """Root mean square over the active samples only, so that pauses do not count."""
    size = np.abs(speech)
    active = speech[size > ACTIVE_SHARE_OF_PEAK * size.max()]
    return rms(active) if len(active) else 0.0


def coloured(seconds: float, seed: int, slope: float = 1.0) -> Samples:
    """Noise whose power falls as frequency to the ``slope``: 0 white, 1 pink, 2 brown."""
    count = _count(seconds)
    random = np.random.default_rng(seed)
    hz = np.fft.rfftfreq(count, 1 / SAMPLE_RATE_HZ)
    spectrum = random.standard_normal(len(hz)) + 1j * random.standard_normal(len(hz))
    audible = hz >= _LOWEST_HZ
    spectrum[~audible] = 0.0
    spectrum[audible] *= hz[audible] ** (-slope / 2)
    return _unit(np.fft.irfft(spectrum, count))


def pink(seconds: float, seed: int) -> Samples:
    """Pink noise."""
    return coloured(seconds, seed, 1.0)


def fan(seconds: float, seed: int, mains_hz: float = 50.0, rpm: float = 1400.0) -> Samples:
    """A fan of seven blades: hum at twice the mains, blade tone, air that swells in turning."""
    t = _times(seconds)
    blade_hz = 7 * rpm / 60
    hum = sum((np.sin(2 * np.pi * 2 * mains_hz * k * t) / k for k in range(1, 9)), np.zeros(len(t)))
    tone = sum((np.sin(2 * np.pi * blade_hz * k * t) / k for k in range(1, 5)), np.zeros(len(t)))
    swell = 1 + 0.3 * np.sin(2 * np.pi * rpm / 60 * t)
    return _unit(0.6 * (hum + 0.7 * tone) + coloured(seconds, seed, 1.2) * swell)


def vacuum_pump(seconds: float, seed: int, mains_hz: float = 50.0) -> Samples:
    """A milking machine's vacuum pump: motor hum, and pulsators once a second."""
    t = _times(seconds)
    hum = sum((np.sin(2 * np.pi * mains_hz * k * t) / k for k in range(1, 13)), np.zeros(len(t)))
    hiss = coloured(seconds, seed, 0.5) * (0.2 + 0.8 * (np.sin(2 * np.pi * 1.0 * t) > 0.6))
    return _unit(hum + 0.5 * hiss)


def clanks(seconds: float, seed: int, per_s: float = 0.5) -> Samples:
    """Gates and headlocks struck at random moments; peak 1, silence between."""
    random = np.random.default_rng(seed)
    sound = np.zeros(_count(seconds))
    for _ in range(random.poisson(per_s * seconds)):
        start = int(random.uniform(0, len(sound)))
        t = np.arange(min(SAMPLE_RATE_HZ, len(sound) - start)) / SAMPLE_RATE_HZ
        first_hz = random.uniform(500, 1500)
        for partial in _BAR_PARTIALS:
            decay = np.exp(-t * random.uniform(6, 40))
            phase = random.uniform(0, 2 * np.pi)
            sound[start : start + len(t)] += decay * np.sin(
                2 * np.pi * first_hz * partial * t + phase
            )
        click = min(len(t), int(0.004 * SAMPLE_RATE_HZ))
        sound[start : start + click] += 2 * random.standard_normal(click)
    return _peak_one(sound)


def moans(seconds: float, seed: int, per_s: float = 0.1) -> Samples:
    """Cattle lowing at random moments: a gliding buzz through a low band; peak 1."""
    random = np.random.default_rng(seed)
    sound = np.zeros(_count(seconds))
    for _ in range(random.poisson(per_s * seconds)):
        length_s = random.uniform(1.0, 2.0)
        t = np.arange(_count(length_s)) / SAMPLE_RATE_HZ
        glide_hz = random.uniform(90, 160) * (1 + 0.35 * np.sin(np.pi * t / length_s))
        phase = 2 * np.pi * np.cumsum(glide_hz) / SAMPLE_RATE_HZ
        call = sum((np.sin(k * phase) / k for k in range(1, 20)), np.zeros(len(t)))
        call *= np.hanning(len(t))
        start = int(random.uniform(0, max(1, len(sound) - len(t))))
        room = min(len(t), len(sound) - start)
        sound[start : start + room] += call[:room]
    band = signal.butter(2, [150, 900], "bandpass", fs=SAMPLE_RATE_HZ, output="sos")
    return _peak_one(signal.sosfilt(band, sound))


def shed(seconds: float, seed: int) -> Samples:
    """All of it together, as one background: air and fan throughout, clanks and lowing at times."""
    return _unit(
        coloured(seconds, seed, 1.0)
        + 0.5 * fan(seconds, seed + 1)
        + 0.4 * vacuum_pump(seconds, seed + 2)
        + 2.0 * clanks(seconds, seed + 3, 0.3)
        + 2.0 * moans(seconds, seed + 4, 0.08)
    )


def reverberant(speech: Samples, seed: int, rt60_s: float = 0.6, tail_db: float = -6.0) -> Samples:
    """Speech in a steel shed: a decaying diffuse tail of ``tail_db`` against the direct sound."""
    t = _times(rt60_s)
    tail = np.random.default_rng(seed).standard_normal(len(t)) * 10 ** (-3 * t / rt60_s)
    tail[: int(0.003 * SAMPLE_RATE_HZ)] = 0.0
    tail *= 10 ** (tail_db / 20) / np.sqrt(np.sum(tail**2))
    tail[0] = 1.0
    wet: Samples = signal.fftconvolve(speech, tail)[: len(speech)].astype(np.float32)
    return wet


def headset(sound: Samples, low_hz: float = 300.0, high_hz: float = 3400.0) -> Samples:
    """The band of a radio headset."""
    band = signal.butter(4, [low_hz, high_hz], "bandpass", fs=SAMPLE_RATE_HZ, output="sos")
    narrow: Samples = signal.sosfilt(band, sound).astype(np.float32)
    return narrow


def mix_at(speech: Samples, noise: Samples, snr_db: float) -> Samples:
    """Speech plus noise, the ratio taken over the active samples of the speech only.

    ``noise`` is repeated or cut to the length of the speech, and keeps its own shape: its RMS over
    that length sets the ratio. Not clipped: the result may go over 1.
    """
    fitted = np.resize(noise, len(speech))
    level = active_rms(speech) / 10 ** (snr_db / 20)
    mixed: Samples = (speech + fitted * (level / max(rms(fitted), 1e-12))).astype(np.float32)
    return mixed


def _count(seconds: float) -> int:
    return max(1, round(seconds * SAMPLE_RATE_HZ))


def _times(seconds: float) -> NDArray[np.float64]:
    return np.arange(_count(seconds)) / SAMPLE_RATE_HZ


def _unit(sound: NDArray[np.float64]) -> Samples:
    scaled: Samples = (sound / max(float(np.sqrt(np.mean(sound**2))), 1e-12)).astype(np.float32)
    return scaled


def _peak_one(sound: NDArray[np.float64]) -> Samples:
    scaled: Samples = (sound / max(float(np.abs(sound).max()), 1e-12)).astype(np.float32)
    return scaled
