"""What lowers confidence, and which reason is given for it."""

from __future__ import annotations

import dataclasses

import pytest

from dictation.recognition.confidence import (
    NEAR_CONFIDENCE,
    Evidence,
    confidence_of,
    pooled,
)
from dictation.recognition.protocol import HeardWord, Hypothesis
from dictation.recognition.speech import similarity, unmatched_letters

SURE = Evidence(
    normal="left ovary follicle sixteen",
    gap=0.1,
    margin=9.0,
    rival="left ovary follicle sixty",
    pace_nats=0.0,
    unmatched=0,
    similarity=1.0,
    readable=True,
    loud_over_floor=100.0,
    freely_the_same=True,
)


def test_clear_words_without_a_rival_are_sure() -> None:
    confidence, reasons = confidence_of(SURE)
    assert confidence > 0.95
    assert reasons == ()


@pytest.mark.parametrize(
    ("worse", "reason"),
    [
        ({"margin": 0.5}, "left ovary follicle sixty"),
        ({"pace_nats": -3.0}, "more was said"),
        ({"unmatched": 6}, "part of what was said"),
        ({"gap": 8.0}, "fit the sound poorly"),
        ({"readable": False}, "cannot be read"),
        ({"loud_over_floor": 2.5}, "surroundings are loud"),
    ],
)
def test_each_doubt_lowers_confidence_and_is_named(worse: dict[str, float], reason: str) -> None:
    confidence, reasons = confidence_of(dataclasses.replace(SURE, **worse))  # type: ignore[arg-type]
    assert confidence < confidence_of(SURE)[0]
    assert any(reason in each for each in reasons)


def test_a_near_rival_is_always_asked_about() -> None:
    near = dataclasses.replace(SURE, margin=3.0)
    assert confidence_of(near)[0] <= NEAR_CONFIDENCE
    assert confidence_of(dataclasses.replace(near, margin=4.0))[0] > NEAR_CONFIDENCE


def test_a_rival_is_near_from_further_off_in_loud_surroundings() -> None:
    loud = dataclasses.replace(SURE, margin=4.5, loud_over_floor=5.0)
    assert confidence_of(loud)[0] <= NEAR_CONFIDENCE
    assert confidence_of(dataclasses.replace(loud, margin=5.5))[0] > NEAR_CONFIDENCE
    assert confidence_of(dataclasses.replace(loud, loud_over_floor=7.0))[0] > NEAR_CONFIDENCE


def test_a_rival_is_near_from_further_off_where_the_free_hearing_says_something_else() -> None:
    far = dataclasses.replace(SURE, margin=5.0)
    assert confidence_of(far)[0] > NEAR_CONFIDENCE
    alone = dataclasses.replace(far, freely_the_same=False)
    assert confidence_of(alone)[0] <= NEAR_CONFIDENCE


def test_words_of_which_the_free_hearing_knows_nothing_are_never_sure() -> None:
    unlike = dataclasses.replace(SURE, freely_the_same=False, similarity=0.5, unmatched=4)
    assert confidence_of(unlike)[0] <= NEAR_CONFIDENCE
    assert confidence_of(dataclasses.replace(unlike, similarity=0.9))[0] > NEAR_CONFIDENCE


def test_one_word_in_noise_is_sure_only_where_it_is_heard_freely_and_alone() -> None:
    word = dataclasses.replace(SURE, normal="heartbeat", rival="in calf", loud_over_floor=3.0)
    assert confidence_of(word)[0] > NEAR_CONFIDENCE
    near = dataclasses.replace(word, margin=4.0)
    guided_only = dataclasses.replace(word, freely_the_same=False)
    assert confidence_of(near)[0] <= NEAR_CONFIDENCE
    assert confidence_of(guided_only)[0] <= NEAR_CONFIDENCE


def test_long_talk_with_a_few_words_of_ours_is_like_talk() -> None:
    talk = dataclasses.replace(SURE, freely_the_same=False, similarity=0.5, extra_words=6)
    assert talk.like_talk
    assert not dataclasses.replace(talk, similarity=0.9, extra_words=1).like_talk
    assert not dataclasses.replace(talk, freely_the_same=True).like_talk


def test_a_poor_fit_that_is_also_unlike_the_free_hearing_is_not_ours() -> None:
    assert dataclasses.replace(SURE, gap=6.0, similarity=0.4).not_ours
    assert not dataclasses.replace(SURE, gap=6.0, similarity=0.8).not_ours
    assert not dataclasses.replace(SURE, gap=0.8, similarity=0.4).not_ours
    assert dataclasses.replace(SURE, gap=10.0, similarity=0.9).not_ours


def test_what_was_left_out_shows_in_the_free_hearing() -> None:
    assert unmatched_letters("left ovary cl 22", "left over e c l 22") <= 1
    assert unmatched_letters("left ovary", "left ovary follicle sixteen") >= 5
    assert similarity("left ovary cl twenty two", "left over e c l 22") > 0.85
    assert similarity("that is right", "pass me the rope would you") < 0.65


def hypothesis(normal: str) -> Hypothesis:
    words = tuple(HeardWord(w, 0.0, 0.0) for w in normal.split())
    return Hypothesis(normal, normal, words, -1.0, len(words))


def test_hypotheses_with_the_same_values_stand_together_and_their_weights_add() -> None:
    values = {"cl 22": 22, "cl twenty two": 22, "cl 27": 27}
    ranked = [(-1.0, hypothesis("cl 27")), (-1.2, hypothesis("cl 22"))]
    assert pooled(ranked, values.get)[0][0][1].normal == "cl 27"
    ranked.append((-1.3, hypothesis("cl twenty two")))
    groups = pooled(ranked, values.get)
    assert [h.normal for _, h in groups[0]] == ["cl 22", "cl twenty two"]


def test_words_that_cannot_be_read_give_way_to_words_that_can() -> None:
    values = {"left ovary cl 22": 22}
    ranked = [(-1.0, hypothesis("left ovaries seal 22")), (-3.0, hypothesis("left ovary cl 22"))]
    assert pooled(ranked, values.get)[0][0][1].normal == "left ovary cl 22"
