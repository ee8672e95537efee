"""The sound of each utterance, kept beside the journal: whole or not at all."""

from __future__ import annotations

import hashlib
import io
import itertools
from pathlib import Path

import numpy as np
import soundfile as sf

from dictation.audio.endpoint import Utterance
from dictation.audio.samples import SAMPLE_RATE_HZ, Samples
from dictation.disk import NO_ROOM, gone, put_in_place
from dictation.errors import BadInputError, MissingError

AUDIO_FOLDER = "audio"


def keep_utterance(folder: Path, number: int, utterance: Utterance) -> Path:
    """Write ``audio/NNNN.flac`` (16 bits, mono, 16 kHz) in a visit's folder; on disk on return.

    What is there is never overwritten: if the number is taken, ``NNNN-2.flac`` is written. Raises
    MissingError if there is no room or the folder is gone, BadInputError if the folder cannot be
    written; neither leaves a part of a file.
    """
    encoded = flac(np.clip(utterance.samples, -1.0, 1.0))
    audio = folder / AUDIO_FOLDER
    try:
        # Of a folder that was moved away no other is made in its place.
        audio.mkdir(exist_ok=True)
        path = _free_name(audio, number)
        put_in_place(path, encoded)
    except OSError as error:
        if error.errno in NO_ROOM:
            raise MissingError(
                f"no room to keep the sound of utterance {number} in {audio}: free some space."
            ) from error
        if not folder.exists():
            raise MissingError(gone(folder)) from error
        raise BadInputError(
            f"{audio} cannot be written for utterance {number} ({error.strerror}): choose another "
            "folder with --out."
        ) from error
    return path


def digest_of_sound(path: Path) -> str:
    """SHA-256 of a kept utterance. Raises BadInputError where it cannot be read."""
    try:
        return hashlib.sha256(path.read_bytes()).hexdigest()
    except OSError as error:
        raise BadInputError(f"{path} cannot be read ({error.strerror}): it is missing.") from error


def stop_at_damaged_sound(path: Path, digest: str | None) -> None:
    """Raises BadInputError where a kept utterance is missing, or is not what was kept.

    ``digest``: None of one that an earlier version kept.
    """
    if digest is not None and digest_of_sound(path) != digest:
        raise BadInputError(
            f"{path} is damaged: it is not the sound that was kept. Its words and findings are"
            " whole; put a copy of the file back."
        )


def load_utterance(path: Path) -> Samples:
    """Mono float32 samples at 16 kHz of a kept utterance. Raises BadInputError."""
    try:
        samples, rate_hz = sf.read(path, dtype="float32")
    except (sf.LibsndfileError, OSError) as error:
        raise BadInputError(
            f"{path} cannot be read as the sound of an utterance: it is missing or damaged."
        ) from error
    if rate_hz != SAMPLE_RATE_HZ or samples.ndim != 1:
        raise BadInputError(
            f"{path} is not the sound of an utterance: it must be mono at {SAMPLE_RATE_HZ} Hz."
        )
    loaded: Samples = samples
    return loaded


def flac(samples: Samples) -> bytes:
    """Samples as a FLAC file of 16 bits."""
    memory = io.BytesIO()
    sf.write(memory, samples, SAMPLE_RATE_HZ, format="FLAC", subtype="PCM_16")
    return memory.getvalue()


def _free_name(audio: Path, number: int) -> Path:
    turns = (f"-{turn}" if turn > 1 else "" for turn in itertools.count(1))
    paths = (audio / f"{number:04d}{turn}.flac" for turn in turns)
    return next(path for path in paths if not path.exists())
