"""Words spoken by a voice: the same words and voice always give the same sound, kept in a cache."""

from __future__ import annotations

import hashlib
import os
import re
from functools import cache
from pathlib import Path

import numpy as np
import soundfile as sf
import soxr
from platformdirs import user_cache_path

from dictation.audio.samples import SAMPLE_RATE_HZ, Samples
from grammar.vocabulary import built_in
from tests.bench import shed_noise
from tests.bench.synthesis import ENGINES, Speak
from tests.bench.voices import RATE, Manner, Voice

RECIPE = 1
"""Raised whenever the same words would be spoken otherwise, so that no old sound is taken."""

ACTIVE_LEVEL = 0.1
"""Level to which all speech is brought, root mean square over its active samples."""

BEFORE_S = 0.25
"""Silence before the first word: the pre-roll that the end-pointer keeps."""

BEHIND_S = 0.3
"""Silence behind the last."""

_EDGE = 0.005  # of the peak: what is quieter at the ends is silence
_FADE_DB = 8.0  # by which a breathless phrase trails off
_GOES_ON = frozenset(
    "twenty thirty forty fifty sixty seventy eighty ninety hundred point and a".split()  # noqa: SIM905
)  # nobody draws breath between 'twenty' and 'two'
_LETTERS = re.compile(r"[A-Z]( [A-Z])+")


def spelled(normal: str) -> str:
    """Normalised words as a synthesiser must read them: 'cl' is said as two letters."""
    words = built_in().words
    spoken: list[str] = []
    for word in normal.split():
        known = words.get(word)
        letters = [w for w in known.written if _LETTERS.fullmatch(w)] if known else []
        plural = word.endswith("s") and words.get(word[:-1])
        if letters:
            spoken.append(letters[0])
        elif plural and any(_LETTERS.fullmatch(w) for w in plural.written):
            spoken.append(" ".join(word[:-1].upper()) + "s")
        else:
            spoken.append({"mm": "mil", "cm": "centimetres"}.get(word, word))
    return " ".join(spoken)


def spoken(normal: str, voice: Voice) -> Samples:
    """The words as mono float32 at 16 kHz, with a little silence at both ends.

    Raises KeyError for an engine that is not known; a missing program raises FileNotFoundError.
    """
    path = cache_folder() / f"{_key(normal, voice)}.flac"
    if path.is_file():
        kept: Samples = sf.read(path, dtype="float32")[0]
        return kept
    sound = _padded(_uttered(spelled(normal), voice))
    path.parent.mkdir(parents=True, exist_ok=True)
    partial = path.with_suffix(f".{os.getpid()}.part")
    sf.write(partial, sound, SAMPLE_RATE_HZ, format="FLAC", subtype="PCM_16")
    partial.replace(path)
    # Read back, so that the first run hears exactly what later ones hear.
    return np.asarray(sf.read(path, dtype="float32")[0], np.float32)


def cache_folder() -> Path:
    """Where spoken phrases are kept: the user's cache folder of this system."""
    return user_cache_path("hornsweep", appauthor=False) / "speech"


def missing_engines() -> dict[str, tuple[str, ...]]:
    """Synthesisers that cannot be used here, and what each lacks."""
    lacking = {name: engine.missing() for name, engine in ENGINES.items()}
    return {name: what for name, what in lacking.items() if what}


def _key(normal: str, voice: Voice) -> str:
    parts = (RECIPE, voice.engine, voice.speaker, voice.manner, voice.pitch, normal)
    return hashlib.sha256(repr(tuple(map(str, parts))).encode()).hexdigest()[:24]


@cache
def _speaker(engine: str, speaker: str) -> Speak:
    return ENGINES[engine].speaker(speaker)


def _uttered(text: str, voice: Voice) -> Samples:
    parts = in_breaths(text) if voice.manner is Manner.BREATHLESS else [text]
    sounds = [_said(part, voice) for part in parts]
    if voice.manner is not Manner.BREATHLESS:
        return sounds[0]
    whole = sounds[0]
    for number, sound in enumerate(sounds[1:]):
        whole = np.concatenate([whole, intake(40 + number), sound])
    fade = np.geomspace(1, 10 ** (-_FADE_DB / 20), len(whole))
    return np.asarray(whole * fade, np.float32)


def _said(text: str, voice: Voice) -> Samples:
    sound, rate_hz = _speaker(voice.engine, voice.speaker)(text, RATE[voice.manner], voice.pitch)
    at_16_khz = np.asarray(soxr.resample(sound, rate_hz, SAMPLE_RATE_HZ), np.float32)
    loud = np.flatnonzero(np.abs(at_16_khz) > _EDGE * np.abs(at_16_khz).max())
    edge = int(0.02 * SAMPLE_RATE_HZ)
    kept: Samples = at_16_khz[max(0, loud[0] - edge) : loud[-1] + edge]
    return kept * np.float32(ACTIVE_LEVEL / shed_noise.active_rms(kept))


def in_breaths(text: str) -> list[str]:
    """Cut where breath is drawn: every three to five words, by the words themselves."""
    words = text.split()
    parts: list[str] = []
    at = 0
    while at < len(words):
        length = 3 + hashlib.sha256(" ".join(words[at:]).encode()).digest()[0] % 3
        while words[at : at + length][-1] in _GOES_ON and at + length < len(words):
            length += 1
        parts.append(" ".join(words[at : at + length]))
        at += length
    return parts


def intake(seed: int, length_s: float = 0.22, level: float = 0.25) -> Samples:
    """A breath drawn in, a swell of soft noise; ``level`` as a share of the speech's."""
    hiss = shed_noise.headset(shed_noise.coloured(length_s, seed, 0.3), 500.0, 4000.0)
    swell = np.hanning(len(hiss)).astype(np.float32)
    return hiss * swell * np.float32(ACTIVE_LEVEL * level)


def _padded(sound: Samples) -> Samples:
    before = np.zeros(int(BEFORE_S * SAMPLE_RATE_HZ), np.float32)
    behind = np.zeros(int(BEHIND_S * SAMPLE_RATE_HZ), np.float32)
    whole: Samples = np.concatenate([before, sound, behind])
    return whole / np.float32(max(1.0, float(np.abs(whole).max())))
