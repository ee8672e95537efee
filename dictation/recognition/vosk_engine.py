"""The Vosk engine behind the same protocol, for machines that have a model for it.

Its phrase list is only a hint (a bigram model), so what comes back is read by the grammar like
anything else and its own confidence is not used.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import subprocess
import sys
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

import numpy as np
from platformdirs import user_cache_path

from dictation.audio.samples import SAMPLE_RATE_HZ, Samples
from dictation.errors import MissingError
from dictation.recognition.confidence import Values
from dictation.recognition.level import DEAD_LEVEL, levelled, measure
from dictation.recognition.protocol import (
    LONGEST_S,
    NO_VOICE,
    Heard,
    HeardWord,
    Hypothesis,
    Outcome,
    not_ours,
    too_long,
)
from grammar.normalise import normalise

MODEL_FOLDER_VARIABLE = "HORNSWEEP_VOSK_MODEL"
#: Samples handed over at a time (a quarter of a second); the text does not depend on it.
_CHUNK_SAMPLES = 4_000
#: Silence added at the end so that the last word is finished, seconds.
_TAIL_S = 0.3
#: Share of our words unknown to a model from which it is taken for one of another language. The
#: Korean model lacks 196 of 197 of them (measured 2026-11-25).
OTHER_LANGUAGE = 0.5
#: Given to text that the grammar reads; the engine has no measure of its own worth asking.
READ_CONFIDENCE = 0.7

#: A large model takes half a minute to load from a slow disk.
LONGEST_PROBE_S = 120.0
_PROBE = """
import sys, numpy, vosk
vosk.SetLogLevel(-1)
recogniser = vosk.KaldiRecognizer(vosk.Model(sys.argv[1]), 16000)
noise = numpy.random.default_rng(1).standard_normal(16000) * 3000
recogniser.AcceptWaveform(noise.astype("<i2").tobytes())
recogniser.FinalResult()
"""


def vosk_model_folder(model_dir: Path | None = None) -> Path:
    """The folder: option, environment, else the first English model in the usual cache."""
    named = os.environ.get(MODEL_FOLDER_VARIABLE)
    folder = model_dir or (Path(named) if named else None)
    if folder is None:
        cached = sorted((Path.home() / ".cache" / "vosk").glob("vosk-model*en*/am"))
        folder = cached[0].parent if cached else None
    if folder is None:
        raise MissingError(
            "no Vosk model on this machine: unpack one into ~/.cache/vosk, or name its folder with "
            f"--model or {MODEL_FOLDER_VARIABLE}, or use --engine guided"
        )
    if not (folder / "am").is_dir():
        raise MissingError(
            f"{folder} is no Vosk model folder (it has no 'am' folder inside); name another with "
            f"--model or {MODEL_FOLDER_VARIABLE}, or use --engine guided"
        )
    return folder


def comes_through(folder: Path) -> bool:
    """Whether the model of a folder loads and hears without ending the process.

    On a graph that was cut short the runtime ends the whole program when it first hears something,
    and says nothing while loading. So each new model is loaded and given a little noise in a child
    process first; that it came through is noted in the cache until a file of the model changes.
    """
    passed = user_cache_path("hornsweep") / "vosk" / _state(folder)
    if passed.is_file():
        return True
    try:
        command = [sys.executable, "-c", _PROBE, str(folder)]
        done = subprocess.run(command, capture_output=True, timeout=LONGEST_PROBE_S, check=False)
    except (OSError, subprocess.TimeoutExpired):
        return False
    if done.returncode == 0:
        with contextlib.suppress(OSError):  # tried again next time
            passed.parent.mkdir(parents=True, exist_ok=True)
            passed.touch()
    return done.returncode == 0


def _state(folder: Path) -> str:
    """A name that changes with any file of the model."""
    files = sorted(path for path in folder.rglob("*") if path.is_file())
    told = "\n".join(
        f"{path.relative_to(folder)} {path.stat().st_size} {path.stat().st_mtime_ns}"
        for path in files
    )
    return hashlib.sha256(f"{folder.resolve()}\n{told}".encode()).hexdigest()[:32]


class VoskError(Exception):
    """The runtime failed."""


@contextlib.contextmanager
def _plain_exceptions_named() -> Iterator[None]:
    """The runtime raises Exception itself, by which every mistake of ours could be caught too."""
    try:
        yield
    except Exception as error:
        if type(error) is not Exception:
            raise
        raise VoskError(str(error)) from error


class VoskRecogniser:
    """Make one with ``load``."""

    def __init__(self, model: Any, phrases: tuple[str, ...], values: Values) -> None:
        self._model = model
        self._phrases = json.dumps(list(phrases), ensure_ascii=False)
        self._values = values
        self._partial: Any = None
        self._fed = 0
        self._first_sample = 0.0
        self._settled: list[str] = []

    @classmethod
    def load(
        cls, phrases: Sequence[str], values: Values, model_dir: Path | None = None
    ) -> VoskRecogniser:
        """Load a model and check that it knows every word of the phrases.

        Raises MissingError for a missing or unreadable model and for words that it lacks; the
        runtime would only drop them. Raises ValueError for no phrases, which would crash it.
        """
        import vosk

        folder = vosk_model_folder(model_dir)
        wanted = tuple(p for p in (phrase.strip() for phrase in phrases) if p)
        if not wanted:
            raise ValueError("the Vosk engine needs at least one phrase to listen for")
        vosk.SetLogLevel(-1)
        damaged = MissingError(
            f"the Vosk model in {folder} cannot be read (damaged or cut short); unpack it "
            "anew, or use --engine guided"
        )
        if not comes_through(folder):
            raise damaged
        try:
            with _plain_exceptions_named():
                model = vosk.Model(str(folder))
        except VoskError as error:
            raise damaged from error
        words = sorted({w for phrase in wanted for w in phrase.split()})
        missing = [w for w in words if model.vosk_model_find_word(w) == -1]
        if len(missing) > OTHER_LANGUAGE * len(words):
            raise MissingError(
                f"the Vosk model in {folder} seems to be of another language: it knows "
                f"{len(words) - len(missing)} of our {len(words)} words; name an English one with "
                f"--model or {MODEL_FOLDER_VARIABLE}, or use --engine guided"
            )
        if missing:
            raise MissingError(
                f"the Vosk model in {folder} does not know {len(missing)} of our words "
                f"({', '.join(missing[:8])}); use a larger model, or --engine guided"
            )
        return cls(model, wanted, values)

    @property
    def name(self) -> str:
        """Name as given to --engine."""
        return "vosk"

    def recognise(self, samples: Samples) -> Heard:
        """Hear one utterance, with a new recogniser: a used one adapts and answers differently."""
        if len(samples) > LONGEST_S * SAMPLE_RATE_HZ:
            return too_long(samples)
        level = measure(samples)
        if level.loud < DEAD_LEVEL:
            return NO_VOICE
        try:
            with _plain_exceptions_named():
                words = tuple(self.words(levelled(samples, level)))
        except (VoskError, LookupError, ValueError) as error:  # the utterance must not be lost
            return Heard(Outcome.FAILED, reasons=(f"the recogniser failed: {error}",))
        text = " ".join(w.word for w in words)
        if not text:
            return Heard(Outcome.SILENCE, reasons=("no words in the sound",))
        normal = normalise(text)
        if self._values(normal) is None:
            return not_ours(text, 0.0, len(words))
        heard = (Hypothesis(text, normal, words, 0.0, len(words)),)
        return Heard(Outcome.HEARD, heard, text, 0.0, len(words), READ_CONFIDENCE)

    def glimpse(self, samples: Samples) -> str:
        """The words so far, normalised, of an utterance that is being spoken."""
        return normalise(self.partial(samples))

    def partial(self, samples: Samples) -> str:
        """The words so far as the engine writes them; only what is new is fed to it.

        For one thread. Sound that does not go on from what was fed before begins anew.
        """
        import vosk

        goes_on = self._fed and len(samples) >= self._fed and samples[0] == self._first_sample
        if not goes_on:
            self._partial = vosk.KaldiRecognizer(self._model, SAMPLE_RATE_HZ, self._phrases)
            self._fed, self._settled = 0, []
            self._first_sample = float(samples[0]) if len(samples) else 0.0
        fresh = levelled(samples, measure(samples))[self._fed :]
        self._fed = len(samples)
        if self._partial.AcceptWaveform((fresh * 32767).astype("<i2").tobytes()):
            self._settled.append(json.loads(self._partial.Result()).get("text", ""))
        so_far = json.loads(self._partial.PartialResult()).get("partial", "")
        return " ".join((*self._settled, so_far)).strip()

    def words(self, samples: Samples) -> Iterator[HeardWord]:
        """Each word with its time and the engine's own confidence, whether it is ours or not."""
        import vosk

        recogniser = vosk.KaldiRecognizer(self._model, SAMPLE_RATE_HZ, self._phrases)
        recogniser.SetWords(True)
        tail = np.zeros(int(_TAIL_S * SAMPLE_RATE_HZ), np.float32)
        sound = np.concatenate([samples, tail])
        raw = (sound * 32767).astype("<i2")
        for at in range(0, len(raw), _CHUNK_SAMPLES):
            if recogniser.AcceptWaveform(raw[at : at + _CHUNK_SAMPLES].tobytes()):
                yield from _heard_words(recogniser.Result(), len(samples))
        yield from _heard_words(recogniser.FinalResult(), len(samples))


def _heard_words(result: str, length: int) -> Iterator[HeardWord]:
    """The words of one result; an empty result has no list of words."""
    last_s = length / SAMPLE_RATE_HZ
    with contextlib.suppress(json.JSONDecodeError):
        for word in json.loads(result).get("result", ()):
            sure = None if word.get("conf") is None else round(float(word["conf"]), 3)
            at_s, until_s = min(word["start"], last_s), min(word["end"], last_s)
            yield HeardWord(word["word"], at_s, until_s, sure)
