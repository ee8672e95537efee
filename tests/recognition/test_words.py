"""How words are counted and laid out in time, and typed words."""

from __future__ import annotations

import pytest

from dictation.recognition.habits import usual
from dictation.recognition.speech import pace_nats, spoken_words, spread


@pytest.mark.parametrize(
    ("text", "count"), [("22", 2), ("cl", 2), ("left ovary cl 22", 6), ("2.4", 3), ("open", 1)]
)
def test_numbers_and_initials_count_as_spoken(text: str, count: int) -> None:
    assert spoken_words(text) == count


def test_a_word_for_a_long_voice_is_held_against_it() -> None:
    assert pace_nats("Right.", 3.5) < -10
    assert pace_nats("Right ovary, follicle sixteen millimetres.", 2.4) == 0
    assert pace_nats("Right ovary, follicle sixteen millimetres, open, recheck.", 0.5) < -2


def test_usual_phrases_are_likelier_than_odd_ones_and_numbers_all_alike() -> None:
    habits = usual()
    assert habits.nats("left ovary cl 22") > habits.nats("left ovaries held 22") + 2
    assert habits.nats("cow 837") == habits.nats("cow 204") == habits.nats("cow eight thirty seven")
    assert habits.nats("cow 837 open") > habits.nats("comment 837 open")


def test_words_share_the_voiced_time_by_their_length_and_skip_pauses() -> None:
    words = spread("open pregnant", [(0.5, 1.1), (2.0, 3.0)])
    assert [w.word for w in words] == ["open", "pregnant"]
    assert words[0].at_s == 0.5
    assert 0.9 <= words[0].until_s <= 2.1
    assert words[1].until_s == 3.0
    assert words[1].at_s >= words[0].until_s
