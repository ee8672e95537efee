"""Utterances begin and end where speech does, however the stream is cut, and nothing is lost."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dictation.audio.endpoint import (
    BLOCK_S,
    LIVE_HANG_OVER_S,
    PRE_ROLL_S,
    TAIL_S,
    Blip,
    Endpointer,
    EndpointEvent,
    SpeechBegan,
    Utterance,
)
from dictation.audio.samples import Samples
from tests.bench import shed_noise

BLOCK = 512
HANG_OVER = round(LIVE_HANG_OVER_S / BLOCK_S)


class Loudness:
    """A detector that takes the peak of a block for its probability of speech."""

    def probability(self, block: Samples) -> float:
        return float(np.abs(block).max())


def stream_of(chances: list[float]) -> Samples:
    """Blocks that ``Loudness`` gives these probabilities, no two blocks alike."""
    ramp = np.linspace(0.5, 1.0, BLOCK, dtype=np.float32)
    return np.concatenate([ramp * np.float32(c) for c in chances] or [np.zeros(0, np.float32)])


def events_of(
    sound: Samples, pieces: list[int] | None = None, longest_s: float = 25.0
) -> list[EndpointEvent]:
    endpointer = Endpointer(longest_s=longest_s, activity=Loudness())
    events: list[EndpointEvent] = []
    at = 0
    for piece in pieces or []:
        events += endpointer.push(sound[at : at + piece])
        at += piece
    return [*events, *endpointer.push(sound[at:]), *endpointer.flush()]


def spans(events: list[EndpointEvent]) -> list[tuple[int, int]]:
    """First and last-but-one block of every utterance and blip."""
    return [
        (round(e.at_s / BLOCK_S), round(e.until_s / BLOCK_S))
        for e in events
        if not isinstance(e, SpeechBegan)
    ]


def silence(blocks: int) -> list[float]:
    return [0.0] * blocks


def speech(blocks: int) -> list[float]:
    return [0.9] * blocks


def test_an_utterance_has_its_pre_roll_and_its_tail() -> None:
    (began, utterance) = events_of(stream_of(silence(40) + speech(20) + silence(40)))
    pre, tail = round(PRE_ROLL_S / BLOCK_S), round(TAIL_S / BLOCK_S)
    assert isinstance(utterance, Utterance)
    assert spans([utterance]) == [(40 - pre, 60 + tail)]
    assert len(utterance.samples) == (20 + pre + tail) * BLOCK
    assert isinstance(began, SpeechBegan)
    assert began.at_s == utterance.at_s


def test_a_pause_of_the_hang_over_ends_an_utterance_and_a_shorter_one_does_not() -> None:
    short = events_of(stream_of(speech(10) + silence(HANG_OVER - 1) + speech(10)))
    full = events_of(stream_of(speech(10) + silence(HANG_OVER) + speech(10)))
    assert len(spans(short)) == 1
    assert [e.number for e in full if isinstance(e, Utterance)] == [1, 2]


def test_a_word_that_weakens_without_stopping_is_not_cut() -> None:
    assert len(spans(events_of(stream_of(speech(8) + [0.4] * 40 + speech(8))))) == 1


def test_voice_too_short_for_a_word_is_a_blip_and_is_handed_on() -> None:
    (blip,) = events_of(stream_of(silence(20) + speech(2) + silence(40)))
    assert isinstance(blip, Blip)
    (event, _) = events_of(stream_of(silence(20) + speech(4) + silence(40)))
    assert isinstance(event, SpeechBegan)


def test_the_sound_of_an_utterance_is_the_sound_of_the_stream() -> None:
    sound = stream_of(silence(30) + [0.6, 0.7, 0.8, 0.9] * 5 + silence(30))
    (_, utterance) = events_of(sound)
    assert isinstance(utterance, Utterance)
    first = round(utterance.at_s / BLOCK_S) * BLOCK
    assert np.array_equal(utterance.samples, sound[first : first + len(utterance.samples)])


def test_a_stream_that_ends_in_speech_gives_its_last_words() -> None:
    (_, utterance) = events_of(stream_of(silence(5) + speech(20))[:-100])
    assert isinstance(utterance, Utterance)
    assert spans([utterance]) == [(0, 25)]


def test_a_long_utterance_is_split_at_its_deepest_pause_without_losing_a_sample() -> None:
    chances = speech(40) + [0.1] * 7 + speech(53) + silence(30)
    sound = stream_of(chances)
    found = [e for e in events_of(sound, longest_s=80 * BLOCK_S) if isinstance(e, Utterance)]
    assert [u.split for u in found] == [True, False]
    assert 40 < spans([found[0]])[0][1] <= 47
    assert found[0].until_s == found[1].at_s
    joined = np.concatenate([u.samples for u in found])
    assert np.array_equal(joined, sound[: len(joined)])
    assert len(joined) >= 100 * BLOCK


def test_the_caller_may_use_its_buffer_again() -> None:
    endpointer = Endpointer(activity=Loudness())
    sound = stream_of(silence(4) + speech(10) + silence(30))
    buffer = np.zeros(BLOCK, np.float32)
    found: list[EndpointEvent] = []
    for at in range(0, len(sound), BLOCK):
        buffer[:] = sound[at : at + BLOCK]
        found += endpointer.push(buffer)
    (_, utterance) = found
    assert isinstance(utterance, Utterance)
    assert np.array_equal(utterance.samples, sound[: len(utterance.samples)])


CHANCES = st.lists(
    st.tuples(st.sampled_from([0.0, 0.2, 0.4, 0.6, 0.95]), st.integers(1, 25)), max_size=12
).map(lambda runs: [chance for chance, count in runs for _ in range(count)])


@settings(deadline=None, max_examples=150)
@given(CHANCES, st.lists(st.integers(0, 5_000), max_size=60))
def test_any_split_of_the_stream_gives_the_same_utterances(
    chances: list[float], pieces: list[int]
) -> None:
    sound = stream_of(chances)
    at_once, in_pieces = events_of(sound), events_of(sound, pieces)
    assert [type(e) for e in at_once] == [type(e) for e in in_pieces]
    assert spans(at_once) == spans(in_pieces)


@settings(deadline=None, max_examples=150)
@given(CHANCES, st.floats(0.9, 3.0))
def test_all_that_is_taken_for_speech_comes_out_exactly_once(
    chances: list[float], longest_s: float
) -> None:
    sound = stream_of(chances)
    events = events_of(sound, longest_s=longest_s)
    covered: list[int] = []
    for start, end in spans(events):
        covered += range(start, end)
    assert len(covered) == len(set(covered))
    voiced = {number for number, chance in enumerate(chances) if chance >= 0.5}
    assert voiced <= set(covered)
    numbers = [e.number for e in events if isinstance(e, Utterance)]
    assert numbers == list(range(1, len(numbers) + 1))


# ---- the real detector


NOISES = {
    "pink": shed_noise.pink(20, 1),
    "fan": shed_noise.fan(20, 2),
    "pump": shed_noise.vacuum_pump(20, 3),
    "clanks": shed_noise.clanks(20, 4, per_s=1.0),
    "shed": shed_noise.shed(20, 6),
}


@pytest.mark.parametrize("name", NOISES)
def test_noise_alone_is_no_utterance(name: str) -> None:
    noise = NOISES[name] * np.float32(0.2 / np.abs(NOISES[name]).max())
    endpointer = Endpointer()
    events = [*endpointer.push(noise), *endpointer.flush()]
    assert [e for e in events if isinstance(e, Utterance)] == []


@pytest.mark.parametrize("snr_db", [20.0, 10.0, 5.0])
def test_speech_in_shed_noise_is_cut_as_in_silence(four_breaths: Samples, snr_db: float) -> None:
    quiet = Endpointer()
    expected = [*quiet.push(four_breaths), *quiet.flush()]
    noisy = Endpointer()
    mixed = shed_noise.mix_at(four_breaths, shed_noise.shed(20, 11), snr_db) * np.float32(0.5)
    found = [*noisy.push(np.clip(mixed, -1, 1)), *noisy.flush()]
    starts = [e.at_s for e in expected if isinstance(e, Utterance)]
    assert len(starts) == 4
    heard = [e.at_s for e in found if isinstance(e, Utterance)]
    assert heard == pytest.approx(starts, abs=0.2)
