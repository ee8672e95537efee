"""Every end of an utterance is a named case with its reason."""

from __future__ import annotations

import numpy as np
import pytest

from dictation.audio.samples import SAMPLE_RATE_HZ, Samples
from dictation.recognition.guided import GuidedRecogniser
from dictation.recognition.protocol import LONGEST_S, Outcome


def noise(seconds: float, seed: int, level: float = 0.05) -> Samples:
    random = np.random.default_rng(seed)
    return (random.normal(size=int(seconds * SAMPLE_RATE_HZ)) * level).astype(np.float32)


def hum(seconds: float) -> Samples:
    at = np.arange(int(seconds * SAMPLE_RATE_HZ)) / SAMPLE_RATE_HZ
    return (0.1 * np.sin(2 * np.pi * 100 * at)).astype(np.float32)


@pytest.mark.parametrize("length", [0, 1, 159, 16_000, 160_000])
def test_dead_silence_is_silence(cards: GuidedRecogniser, length: int) -> None:
    heard = cards.recognise(np.zeros(length, np.float32))
    assert heard.outcome is Outcome.SILENCE
    assert heard.reasons


@pytest.mark.parametrize("sound", [noise(2, 1), noise(6, 2), hum(3)], ids=["2 s", "6 s", "hum"])
def test_steady_noise_holds_no_voice(exams: GuidedRecogniser, sound: Samples) -> None:
    assert exams.recognise(sound).outcome is Outcome.SILENCE


def test_a_click_is_no_word(exams: GuidedRecogniser) -> None:
    sound = noise(1, 3, level=0.0005)
    sound[8_000:8_200] += 0.5
    heard = exams.recognise(sound)
    assert heard.outcome in {Outcome.SILENCE, Outcome.NOT_OUR_LANGUAGE} or heard.confidence < 0.8


def test_an_endless_breath_is_too_long_and_says_how_long(cards: GuidedRecogniser) -> None:
    heard = cards.recognise(noise(LONGEST_S + 2, 4))
    assert heard.outcome is Outcome.TOO_LONG
    assert "32 s" in heard.reasons[0]


def test_sound_that_is_no_number_fails_with_a_reason_and_does_not_raise(
    cards: GuidedRecogniser,
) -> None:
    heard = cards.recognise(np.full(16_000, np.nan, np.float32))
    assert heard.outcome in {Outcome.FAILED, Outcome.SILENCE}
    assert heard.reasons
