# mypy: disable-error-code="import-not-found,import-untyped,misc,untyped-decorator"
"""Human recordings: some for the original model's opinion in training, others only to measure on.

Trained on, with the words that the original model writes: the longer recordings that its own
package carries, cut at pauses. With their own words, English prompts of Debian's
asterisk-core-sounds-en-g722 and -en (one speaker, CC BY-SA 3.0, read here, not shipped): a quarter
is trained on, a quarter validates, and half is kept to judge the end result, with
pocketsphinx-testdata. PyAV decodes G.722. People of a folder of recordings: see ``people``.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import soundfile
import soxr
from numpy.typing import NDArray

from dictation.audio.samples import SAMPLE_RATE_HZ
from dictation.errors import MissingError
from dictation.recognition.model import SpeechModel
from dictation.recognition.model_files import original_folder
from tests.training.corpus import HUMAN, Recording, write_corpus
from tests.training.original import levelled_sound, written_freely

TAUGHT = ("two_cities.wav", "endgame_nagg_nell.wav", "clone-test.wav")
_SHORTEST_S, _LONGEST_S = 4.0, 7.5
_PAUSE_SAMPLES = 3200

Samples = NDArray[np.int16]


def _at_rate(sound: NDArray[np.float32], rate_hz: int) -> Samples:
    mono = sound.mean(axis=1) if sound.ndim > 1 else sound
    if rate_hz != SAMPLE_RATE_HZ:
        mono = soxr.resample(mono, rate_hz, SAMPLE_RATE_HZ)
    scaled: Samples = (np.clip(mono, -1, 1) * 32767).astype(np.int16)
    return scaled


def cut_at_pauses(samples: Samples) -> list[Samples]:
    """Pieces of 4 to 7.5 s, each cut where it is quietest for 0.2 s."""
    pieces: list[Samples] = []
    low, high = int(_SHORTEST_S * SAMPLE_RATE_HZ), int(_LONGEST_S * SAMPLE_RATE_HZ)
    while len(samples) > high:
        size = np.abs(samples[low:high].astype(np.float32))
        loud = np.convolve(size, np.ones(_PAUSE_SAMPLES), "valid")
        at = low + int(loud.argmin()) + _PAUSE_SAMPLES // 2
        pieces.append(samples[:at])
        samples = samples[at:]
    return [*pieces, samples] if len(samples) > SAMPLE_RATE_HZ else pieces


def _taught(assets: Path, model: SpeechModel) -> list[Recording]:
    found: list[Recording] = []
    for name in TAUGHT:
        sound, rate_hz = soundfile.read(assets / name, dtype="float32")
        pieces = cut_at_pauses(_at_rate(sound, rate_hz))
        for piece in pieces:
            sound = levelled_sound((piece / 32768).astype(np.float32))
            words = model.table.text(written_freely(model, sound)[0])
            found.append(Recording(piece, HUMAN, name.removesuffix(".wav"), words, False))
    return found


@dataclass(frozen=True, slots=True)
class Prompts:
    """Prompts on this machine: the folder of their .g722 files, and the file of their words."""

    folder: Path
    words: Path


def _g722(path: Path) -> Samples:
    import av

    with av.open(str(path), format="g722") as file:
        frames = [frame.to_ndarray().ravel() for frame in file.decode(audio=0)]
    return np.concatenate(frames).astype(np.int16)


def _prompts(prompts: Prompts) -> list[Recording]:
    found: list[Recording] = []
    for line in prompts.words.read_text(encoding="utf-8", errors="replace").splitlines():
        name, _, words = line.partition(":")
        path = prompts.folder / f"{name.strip()}.g722"
        words = words.strip()
        usable = words and not set("[]<>(") & set(words) and not line.startswith(";")
        if not usable or not path.is_file():
            continue
        samples = _g722(path)
        if 0.4 < len(samples) / SAMPLE_RATE_HZ < 10.0:
            written = " ".join(words.split())
            found.append(Recording(samples, HUMAN, "prompts", written, not _teaches(written)))
    return found


def _teaches(written: str) -> bool:
    """Of the prompts that do not judge, half are trained on and half validate."""
    return hashlib.sha256(written.encode()).digest()[1] % 2 == 0


def _is_judging(recording: Recording) -> bool:
    return hashlib.sha256(recording.written.encode()).digest()[0] % 2 == 0


def write_human(
    model: SpeechModel,
    prompts: Prompts | None,
    said: list[Recording],
    teaching: Path,
    judging: Path,
) -> str:
    """Write the corpora that teach and validate, with what people ``said``, and the judging one.

    How many, in words.
    """
    assets = teacher_assets()
    found = [] if prompts is None else _prompts(prompts)
    others = [r for r in found if not _is_judging(r)]
    judges = [r for r in found if _is_judging(r)]
    write_corpus([*_taught(assets, model), *others, *said], teaching)
    write_corpus(judges, judging)
    validating = sum(r.validation for r in others)
    hours = sum(len(r.samples) for r in said if not r.validation) / SAMPLE_RATE_HZ / 3600
    return (
        f"{len(others) - validating} prompts teach, {validating} validate, {len(judges)} judge;"
        f" of people {hours:.2f} h teach, {sum(r.validation for r in said)} recordings validate"
    )


def teacher_assets() -> Path:
    """Where the original's package keeps its recordings. Raises MissingError."""
    folder = original_folder()
    if not all((folder.parent / name).is_file() for name in TAUGHT):
        raise MissingError("The original's recordings are not here: install moonshine-voice.")
    return folder.parent
