"""Our phrases by made voices in real noise, in real rooms and through headsets."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import islice
from pathlib import Path
from typing import ClassVar

import numpy as np

from dictation.audio.samples import SAMPLE_RATE_HZ, Samples
from tests.bench import shed_noise
from tests.bench.conditions import noise_seed, shed
from tests.bench.headsets import HEADSETS, headset
from tests.bench.phrases import phrases
from tests.bench.plan import in_turn, voices_here
from tests.bench.real_surroundings import in_noise, in_room
from tests.bench.speech import spoken
from tests.bench.voices import Split, voice

REAL_NOISE, HEADSET = "real noise", "headset"
PHRASES = 240  # of each kind: 60 in each noise, 40 through each headset
ROOM = "real room"
SNR_DB = {"real 20 dB": 20.0, "real 10 dB": 10.0, "real 5 dB": 5.0, ROOM: 20.0}
CONDITIONS = {REAL_NOISE: tuple(SNR_DB), HEADSET: tuple(one.name for one in HEADSETS)}


@dataclass(frozen=True, slots=True)
class MadeSound:
    """A phrase by a made voice. ``folder``: where the real noise is."""

    kind: str
    words: str
    voice: str
    condition: str
    split: Split
    number: int
    folder: Path
    after: ClassVar[str] = ""

    @property
    def for_us(self) -> bool:
        """Always."""
        return True

    @property
    def key(self) -> str:
        """Tells it from every other sound of the bench."""
        return f"{self.split}/{self.kind}/{self.number}/{self.voice}/{self.condition}/{self.words}"

    def samples(self) -> Samples:
        """Mono float32 at 16 kHz, peak at most 1."""
        speech = spoken(self.words, voice(self.voice))
        seed = noise_seed(self.split, self.key)
        if self.kind == HEADSET:
            by = headset(self.condition)
            noise = shed(len(speech) / SAMPLE_RATE_HZ, self.split, seed)
            sound = by.worn(_at_most_one(shed_noise.mix_at(speech, noise, by.snr_db)), seed)
        else:
            if self.condition == ROOM:
                speech = in_room(speech, self.folder, self.split, seed)
            sound = in_noise(speech, self.folder, self.split, seed, SNR_DB[self.condition])
        return _at_most_one(sound)


def made_sounds(folder: Path, split: Split, kinds: Iterable[str]) -> list[MadeSound]:
    """The sounds of these kinds: phrases and voices as ``plan`` takes them, conditions in turn."""
    there = voices_here(split)
    return [
        MadeSound(kind, words, speaker.name, condition, split, number, folder)
        for kind in kinds
        for number, words in enumerate(islice(phrases(split), PHRASES))
        for speaker, condition in (in_turn(number, there, CONDITIONS[kind]),)
    ]


def _at_most_one(sound: Samples) -> Samples:
    return sound / np.float32(max(1.0, float(np.abs(sound).max())))
