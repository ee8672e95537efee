"""The sound around the voice: clean, shed noise at three levels, a headset's band, a steel shed.

Noise is mixed from the parts of ``shed_noise``. Each side of the split has its own: fans and pumps
at 50 Hz, clanks and lowing from seeds below 1000 and reverberation up to 0.6 s to tune on; 60 Hz,
seeds from 1000, a radio talking and longer reverberation to measure on.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from functools import cache

import numpy as np

from dictation.audio.samples import SAMPLE_RATE_HZ, Samples
from tests.bench import shed_noise
from tests.bench.chatter import chatter
from tests.bench.speech import spoken
from tests.bench.synthesis import ENGINES
from tests.bench.voices import Split, Voice


@dataclass(frozen=True, slots=True)
class Condition:
    """``snr_db`` over the active speech, None without noise; ``headset``: 300 to 3,400 Hz only;
    ``reverberant``: in a steel shed, the microphone not at the mouth."""

    name: str
    snr_db: float | None = None
    headset: bool = False
    reverberant: bool = False


CONDITIONS: tuple[Condition, ...] = (
    Condition("clean"),
    Condition("20 dB", 20.0),
    Condition("10 dB", 10.0),
    Condition("5 dB", 5.0),
    Condition("headset", 20.0, headset=True),
    Condition("steel shed", 20.0, reverberant=True),
)

_RT60_S = {Split.TUNE: (0.35, 0.45, 0.6), Split.HELD_OUT: (0.65, 0.75, 0.9)}
_MAINS_HZ = {Split.TUNE: 50.0, Split.HELD_OUT: 60.0}
_FIRST_SEED = {Split.TUNE: 0, Split.HELD_OUT: 1000}
_SEEDS = 900  # from the first on
_LEVEL_BEFORE = 0.1  # of clips of noise alone, root mean square
_RADIO_VOICES = ("flite", "espeak")


def condition(name: str) -> Condition:
    """The condition of that name. Raises KeyError."""
    return {c.name: c for c in CONDITIONS}[name]


def heard_in(speech: Samples, condition: Condition, split: Split, key: str) -> Samples:
    """Speech as a microphone has it; ``key`` seeds the noise. Peak at most 1."""
    seed = noise_seed(split, key)
    sound = speech
    if condition.reverberant:
        rt60_s = _RT60_S[split][seed % 3]
        sound = shed_noise.reverberant(sound, seed, rt60_s)
    if condition.snr_db is not None:
        noise = shed(len(sound) / SAMPLE_RATE_HZ, split, seed)
        sound = shed_noise.mix_at(sound, noise, condition.snr_db)
    if condition.headset:
        sound = shed_noise.headset(sound)
    return sound / np.float32(max(1.0, float(np.abs(sound).max())))


def noise_alone(seconds: float, split: Split, key: str) -> Samples:
    """The shed with nobody speaking to us, as loud as speech would be."""
    sound = shed(seconds, split, noise_seed(split, key)) * np.float32(_LEVEL_BEFORE)
    return sound / np.float32(max(1.0, float(np.abs(sound).max())))


def shed(seconds: float, split: Split, seed: int) -> Samples:
    """One side's shed: air, fan, pump, gates, cattle, and a radio where the side has one. RMS 1."""
    mains_hz = _MAINS_HZ[split]
    sound = (
        shed_noise.pink(seconds, seed)
        + 0.5 * shed_noise.fan(seconds, seed, mains_hz)
        + 0.4 * shed_noise.vacuum_pump(seconds, seed, mains_hz)
        + 2.0 * shed_noise.clanks(seconds, seed, 0.4)
        + 2.0 * shed_noise.moans(seconds, seed, 0.12)
    )
    if split is Split.HELD_OUT:
        sound = sound + 0.7 * _radio(seconds, seed)
    mixed: Samples = (sound / max(shed_noise.rms(sound), 1e-12)).astype(np.float32)
    return mixed


def noise_seed(split: Split, key: str) -> int:
    """The seed of a sound's shed: no seed is on both sides."""
    number = int.from_bytes(hashlib.sha256(key.encode()).digest()[:4], "big")
    return _FIRST_SEED[split] + number % _SEEDS


def _radio(seconds: float, seed: int) -> Samples:
    """A stretch of a radio in the corner, RMS 1; silent where no synthesiser is there."""
    programme = _programme()
    if not len(programme):
        return np.zeros(round(seconds * SAMPLE_RATE_HZ), np.float32)
    start = seed * 7919 % len(programme)
    turned = np.roll(programme, -start)
    return np.resize(turned, round(seconds * SAMPLE_RATE_HZ))


@cache
def _programme() -> Samples:
    engine = next((name for name in _RADIO_VOICES if not ENGINES[name].missing()), None)
    if engine is None:
        return np.zeros(0, np.float32)
    speaker = {"flite": "rms", "espeak": "en-gb-x-rp+m3"}[engine]
    announcer = Voice("radio", engine, speaker, "British", "m", Split.HELD_OUT)
    sentences = chatter(Split.HELD_OUT)
    said = [spoken(next(sentences), announcer) for _ in range(12)]
    band = shed_noise.headset(np.concatenate(said), 250.0, 4500.0)
    unit: Samples = (band / shed_noise.rms(band)).astype(np.float32)
    return unit
