"""Human recordings kept for judgement, heard by the int8 files of one model or another.

For each model, in quiet and with pink noise: recordings freely heard wholly right, and wrong words
among those said; then how many are told apart from all the others by the guided search, as far as
their words differ. The benches judge trade phrases and chatter.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from pathlib import Path

import numpy as np

from dictation.audio.samples import SAMPLE_RATE_HZ, Samples
from dictation.recognition.guided import GuidedRecogniser
from dictation.recognition.model import load_model
from tests.bench.shed_noise import mix_at, pink
from tests.training.corpus import Recording
from tests.training.original import levelled_sound, written_freely
from tests.training.wording import edits, plain

FREE_SNRS_DB = (None, 10.0)
GUIDED_SNRS_DB = (None, 10.0, 5.0, 0.0)


def in_noise(recording: Recording, seed: int, snr_db: float | None) -> Samples:
    """The recording, with pink noise where a level is given."""
    speech = recording.sound
    if snr_db is None:
        return speech
    mixed = mix_at(speech, pink(len(speech) / SAMPLE_RATE_HZ, seed), snr_db)
    return mixed.astype(np.float32)


def bare(text: str) -> str:
    """Small letters and apostrophes, single blanks."""
    return " ".join(re.sub(r"[^a-z' ]", " ", text.lower()).split())


def one_of(texts: Iterable[str]) -> str:
    """A constraint under which only these texts can be written."""
    written = (
        "[ ,-]{1,2}".join(f"[{word[0].upper()}{word[0]}]{word[1:]}" for word in text.split())
        for text in texts
    )
    return f"start: TEXT\nTEXT: /({'|'.join(written)})[.,!?]?/\n"


def judged(folder: Path, recordings: list[Recording]) -> list[str]:
    """Lines on what a model makes of the recordings: heard freely, and told apart."""
    return [*_freely(folder, recordings), *_guided(folder, recordings)]


def _freely(folder: Path, recordings: list[Recording]) -> Iterator[str]:
    """Recordings right and words wrong."""
    model = load_model(folder, 1)
    for snr_db in FREE_SNRS_DB:
        right = wrong = words = 0
        for seed, recording in enumerate(recordings):
            sound = levelled_sound(in_noise(recording, seed, snr_db))
            said = plain(recording.written)
            heard = plain(model.table.text(written_freely(model, sound)[0]))
            right += said == heard
            wrong += edits(said, heard)
            words += len(said)
        yield (
            f"{folder}: {_level(snr_db)}: {right} of {len(recordings)} freely,"
            f" {wrong} of {words} words wrong"
        )


def _guided(folder: Path, recordings: list[Recording]) -> Iterator[str]:
    """How many recordings were told apart from the others."""
    texts = {bare(r.written): r for r in reversed(recordings) if bare(r.written)}
    recogniser = GuidedRecogniser.load(one_of(texts), str, folder)
    for snr_db in GUIDED_SNRS_DB:
        right = 0
        for seed, (text, recording) in enumerate(texts.items()):
            heard = recogniser.recognise(in_noise(recording, seed, snr_db))
            right += bool(heard.hypotheses) and bare(heard.hypotheses[0].text) == text
        yield f"{folder}: {_level(snr_db)}: {right} of {len(texts)} told apart"


def _level(snr_db: float | None) -> str:
    return "quiet" if snr_db is None else f"{snr_db:.0f} dB"
