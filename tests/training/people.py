"""People's recordings that teach: a folder of them as ``bench people`` reads it, its tune side.

Digits of one speaker joined to strings, single words as what they are whether they are ours or not,
orders and reading with the teacher's own words. Three speakers in fourteen, by the hash of their
names, only validate, and the words that one says are joined to no one else's. Real noise and rooms
of the same side are laid under and around what made voices say.
"""

from __future__ import annotations

import hashlib
import random
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from dictation.audio.samples import SAMPLE_RATE_HZ, Samples
from dictation.recognition.model import SpeechModel
from tests.bench.joining import joined
from tests.bench.real_people import DIGITS, SIDES, TALK, RealSound, real_sounds
from tests.bench.real_recordings import Recording as File
from tests.bench.real_recordings import recordings
from tests.bench.real_surroundings import rooms
from tests.bench.shed_noise import rms
from tests.bench.voices import Split
from tests.training.corpus import HUMAN, Recording
from tests.training.original import levelled_sound, written_freely
from tests.training.surface import written
from tests.training.wording import plain

VALIDATING_BELOW = 56
STRINGS_A_DIGIT = 3
"""Joined strings for each recording of a digit that a speaker has, at most STRINGS of them; one
for each where they are all of one digit."""
STRINGS = 240
LEAST_WORDS = 3
TALKED = ("orders", "reading")
LENGTHS = (2, 3, 3, 3, 4, 4, 5)
GAP_S = (0.02, 0.35)
NOISE_S, ROOM_S = 20.0, 0.6
_ACTIVE_RMS = 0.08


@dataclass(frozen=True, slots=True)
class Surroundings:
    """Real noises [n, samples] of NOISE_S, RMS 1; rooms [n, samples] of ROOM_S, direct sound 1."""

    noise: NDArray[np.float32]
    rooms: NDArray[np.float32]


def validates(speaker: str) -> bool:
    """Whether a speaker is kept out of training."""
    return hashlib.sha256(speaker.encode()).digest()[3] < VALIDATING_BELOW


def people(folder: Path, teacher: SpeechModel, seed: int) -> list[Recording]:
    """Everything that people of the tune side say, with the sort of it before the speaker."""
    rng = random.Random(seed)
    files = recordings(folder, Split.TUNE)
    found = [_word(file, rng) for file in files if file.what == "words"]
    found += _strings(files, rng)
    found += [_talk(sound, teacher) for sound in real_sounds(folder, Split.TUNE, [TALK])]
    return [r for r in found if r.voice.split("/")[0] not in TALKED or _says_something(r)]


def _says_something(recording: Recording) -> bool:
    """What is cut at pauses can be a breath, for which the teacher still finds a word."""
    return len(plain(recording.written)) >= LEAST_WORDS


def _recording(sort: str, sound: Samples, speaker: str, text: str) -> Recording:
    loud = min(_ACTIVE_RMS / max(rms(sound), 1e-4), 0.98 / max(float(np.abs(sound).max()), 1e-4))
    samples = np.asarray(sound * loud * 32767, np.int16)
    return Recording(samples, HUMAN, f"{sort}/{speaker}", text, validates(speaker))


def _word(file: File, rng: random.Random) -> Recording:
    ours = "digit" if file.text in DIGITS else "side" if file.text in SIDES else "foreign word"
    return _recording(ours, file.samples(), file.speaker, written(file.text, rng))


def _strings(files: tuple[File, ...], rng: random.Random) -> Iterator[Recording]:
    by_speaker: dict[tuple[str, str], list[File]] = defaultdict(list)
    for file in files:
        if file.what in {"words", "digits"} and file.text in DIGITS:
            by_speaker[file.what, file.speaker].append(file)
    for (what, speaker), said in sorted(by_speaker.items()):
        sort = "string" if what == "words" else "accent string"
        several = len({file.text for file in said}) > 1
        for _ in range(min(STRINGS, (STRINGS_A_DIGIT if several else 1) * len(said))):
            chosen = rng.choices(said, k=rng.choice(LENGTHS))
            gaps_s = [rng.uniform(*GAP_S) for _ in chosen[1:]]
            sound = joined([_as_loud(file.samples()) for file in chosen], gaps_s)
            text = written(" ".join(file.text for file in chosen), rng)
            yield _recording(sort, sound, speaker, text)


def _as_loud(sound: Samples) -> Samples:
    return np.asarray(sound * (_ACTIVE_RMS / max(rms(sound), 1e-4)), np.float32)


def _talk(sound: RealSound, teacher: SpeechModel) -> Recording:
    """With its transcript, if it has one and is whole; the teacher's spelling where that agrees."""
    heard = levelled_sound(sound.samples())
    text = teacher.table.text(written_freely(teacher, heard)[0])
    (part,) = sound.parts
    whole = part.from_s == 0 and (part.until_s or 0) * SAMPLE_RATE_HZ >= len(
        part.recording.samples()
    )
    known = part.recording.text
    if known and whole and plain(known) != plain(text):
        text = f"{known[:1].upper()}{known[1:]}."
    return _recording(sound.condition, part.samples(), sound.voice, text)


def surroundings(folder: Path) -> Surroundings:
    """Noise and rooms of the tune side, of the latter those that are rooms by their shape."""
    files = recordings(folder, Split.TUNE)
    noises = [_looped(file.samples()) for file in files if file.what == "noise"]
    measured = [_room(response) for response in rooms(folder, Split.TUNE)]
    return Surroundings(np.stack(noises), np.stack(measured))


def _looped(sound: Samples) -> NDArray[np.float32]:
    whole = np.resize(sound, int(NOISE_S * SAMPLE_RATE_HZ))
    return np.asarray(whole / max(rms(whole), 1e-6), np.float32)


def _room(sound: Samples) -> NDArray[np.float32]:
    """From the direct sound on, which is the loudest sample of it."""
    first = int(np.abs(sound).argmax())
    kept = np.zeros(int(ROOM_S * SAMPLE_RATE_HZ), np.float32)
    tail = sound[first : first + len(kept)]
    kept[: len(tail)] = tail / sound[first]
    return kept


def write_surroundings(folder: Path, path: Path) -> None:
    """Keep them in a file, for the machine that trains."""
    real = surroundings(folder)
    with path.open("wb") as file:
        np.savez(file, noise=real.noise, rooms=real.rooms)


def read_surroundings(path: Path) -> Surroundings:
    """What ``write_surroundings`` wrote."""
    kept = np.load(path)
    return Surroundings(kept["noise"], kept["rooms"])
