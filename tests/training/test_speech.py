"""What the model is taught with keeps its words, its voice and its side of the split."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from dictation.audio.samples import SAMPLE_RATE_HZ
from tests.bench.speech import in_breaths, intake
from tests.bench.voices import VOICES, Split
from tests.training.corpus import TALK, TRADE, Recording
from tests.training.joining import LONGEST_S, PAUSE_S, joined
from tests.training.speech import SPEAKERS, VALIDATING


def _tone(length_s: float, hz: float) -> np.ndarray:
    at = np.arange(int(length_s * SAMPLE_RATE_HZ)) / SAMPLE_RATE_HZ
    return np.asarray(20_000 * np.sin(2 * np.pi * hz * at), np.int16)


def _recording(words: str, voice: str, length_s: float = 1.0, **other: object) -> Recording:
    kind = str(other.get("kind", TRADE))
    hz = 200.0 if voice == "low" else 900.0
    return Recording(_tone(length_s, hz), kind, voice, words, bool(other.get("validation")))


@pytest.fixture
def recordings() -> list[Recording]:
    low = [_recording(words, "low") for words in ("Left ovary.", "Twenty-two mil.", "Next cow.")]
    high = [_recording(words, "high") for words in ("Open.", "No heat seen.", "Right horn.")]
    return [*low, *high]


def test_two_phrases_in_one_breath_are_of_one_voice_and_in_the_order_they_are_written(
    recordings: list[Recording],
) -> None:
    words_of = {v: {r.written for r in recordings if r.voice == v} for v in ("low", "high")}
    pairs = joined(recordings, 60, 3)
    assert len(pairs) == 60
    for pair in pairs:
        first = next(w for w in words_of[pair.voice] if pair.written.startswith(w + " "))
        second = pair.written.removeprefix(first + " ")
        assert second in words_of[pair.voice] - {first}
        length_s = len(pair.samples) / SAMPLE_RATE_HZ
        assert 2.0 + PAUSE_S[0] - 0.001 <= length_s <= 2.0 + PAUSE_S[1]
        assert np.array_equal(pair.samples[:SAMPLE_RATE_HZ], pair.samples[-SAMPLE_RATE_HZ:])


def test_nothing_that_validates_and_no_talk_is_joined() -> None:
    kept_out = [
        *(_recording(f"Tag {n}.", "low", validation=True) for n in range(4)),
        *(_recording(f"Nice day {n}.", "high", kind=TALK) for n in range(4)),
    ]
    assert joined(kept_out, 50, 1) == []


def test_pairs_longer_than_the_network_is_taught_with_are_left_out() -> None:
    long = [_recording(f"Words {n}.", "low", LONGEST_S / 2) for n in range(3)]
    assert joined(long, 20, 1) == []


@given(st.lists(st.sampled_from("left ovary cl twenty two point five a hundred".split())))  # noqa: SIM905
def test_breaths_lose_no_word_and_none_is_drawn_within_a_number(words: list[str]) -> None:
    parts = in_breaths(" ".join(words))
    assert " ".join(parts).split() == words
    assert not any(p.split()[-1] in {"twenty", "hundred", "point"} for p in parts[:-1])


def test_a_drawn_breath_is_soft_and_swells() -> None:
    drawn = np.abs(intake(7, 0.4, 0.1))
    third = len(drawn) // 3
    assert drawn[third : 2 * third].mean() > 2 * max(drawn[:third].mean(), drawn[-third:].mean())
    assert drawn.mean() < np.abs(intake(7, 0.4, 0.4)).mean()


def test_no_voice_that_is_only_measured_speaks_in_training() -> None:
    taught = {
        (engine, speaker.split("/")[0])
        for table in (SPEAKERS, VALIDATING)
        for engine, speakers in table.items()
        for speaker in speakers
    }
    for voice in VOICES:
        if voice.split is Split.HELD_OUT:
            same = (voice.engine, voice.speaker.split("/")[0].split("+")[0])
            assert same not in {(e, s.split("+")[0]) for e, s in taught}, voice.name
