"""Words are joined and long recordings cut where nobody speaks."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from dictation.audio.samples import SAMPLE_RATE_HZ, Samples
from tests.bench.joining import EDGE_S, between_pauses, cut, joined, loudest_parts, spoken_part


def samples_in(seconds: float) -> int:
    return round(seconds * SAMPLE_RATE_HZ)


def silence(seconds: float) -> Samples:
    return np.zeros(round(seconds * SAMPLE_RATE_HZ), np.float32)


def voice(seconds: float, level: float = 0.3) -> Samples:
    t = np.arange(round(seconds * SAMPLE_RATE_HZ)) / SAMPLE_RATE_HZ
    return (level * np.sin(2 * np.pi * 200 * t)).astype(np.float32)


def hiss(sound: Samples, level: float = 0.001) -> Samples:
    noise = np.random.default_rng(1).standard_normal(len(sound)) * level
    return np.asarray(sound + noise, np.float32)


def word(before_s: float, voice_s: float, behind_s: float) -> Samples:
    return hiss(np.concatenate([silence(before_s), voice(voice_s), silence(behind_s)]))


def test_a_word_is_found_between_the_quiet_on_both_sides() -> None:
    assert spoken_part(word(0.3, 0.4, 0.2)) == pytest.approx((0.3, 0.7))


@given(st.floats(-1, 2), st.floats(0, 2))
def test_a_stretch_is_as_long_as_it_was_asked_for(from_s: float, length_s: float) -> None:
    stretch = cut(voice(1.0), from_s, from_s + length_s)
    assert abs(len(stretch) - length_s * SAMPLE_RATE_HZ) <= 1


def test_words_are_joined_at_the_gap_asked_for_and_keep_their_level() -> None:
    both = joined([word(0.3, 0.4, 0.3), word(0.2, 0.3, 0.4)], [0.16])
    assert len(both) / SAMPLE_RATE_HZ == pytest.approx(0.86 + 2 * EDGE_S, abs=0.021)
    gap = both[samples_in(EDGE_S + 0.42) : samples_in(EDGE_S + 0.54)]
    assert np.abs(gap).max() < 0.01
    assert np.abs(both).max() == pytest.approx(0.3, abs=0.01)


def test_the_room_goes_on_sounding_between_joined_words() -> None:
    both = joined([word(0.3, 0.4, 0.3), word(0.3, 0.4, 0.3)], [0.2])
    gap = both[samples_in(EDGE_S + 0.42) : samples_in(EDGE_S + 0.58)]
    assert np.count_nonzero(gap) > 0.9 * len(gap)


def test_where_a_word_has_no_quiet_around_it_the_gap_is_silent() -> None:
    both = joined([voice(0.4), voice(0.4)], [0.2])
    assert len(both) / SAMPLE_RATE_HZ == pytest.approx(1.0 + 2 * EDGE_S, abs=0.021)
    assert not both[samples_in(EDGE_S + 0.42) : samples_in(EDGE_S + 0.58)].any()


def test_talk_is_cut_in_its_pauses_and_nothing_is_in_two_pieces() -> None:
    talk = hiss(np.concatenate([voice(5), silence(0.3), voice(4), silence(0.3), voice(5)]))
    pieces = between_pauses(talk, 2.0, 8.0)
    assert [round(until_s, 1) for _, until_s in pieces[:-1]] == pytest.approx([5.15, 9.45], abs=0.2)
    assert pieces[-1][1] == pytest.approx(14.6)
    assert all(one[1] == other[0] for one, other in pairwise(pieces))


@given(st.integers(1, 400))
def test_no_piece_is_longer_than_the_longest(tenths: int) -> None:
    pieces = between_pauses(voice(tenths / 10), 2.0, 8.0)
    assert all(until_s - from_s <= 8.0 + 1e-6 for from_s, until_s in pieces)


def test_the_loudest_part_comes_first() -> None:
    sound = np.concatenate([voice(3, 0.01), voice(1, 0.3), voice(3, 0.01)])
    parts = loudest_parts(sound, 1.0)
    assert parts[0] == pytest.approx((3.0, 4.0))
    assert len(parts) >= 4


def test_a_sound_shorter_than_a_part_stays_whole() -> None:
    assert loudest_parts(voice(0.5), 2.0) == [(0.0, 0.5)]
