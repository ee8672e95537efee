"""What lowers confidence, and which reason is given for it."""

from __future__ import annotations

import dataclasses
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dictation.recognition.confidence import (
    Evidence,
    confidence_in,
    odds_of,
    pooled,
    reasons_of,
)
from dictation.recognition.protocol import HeardWord, Hypothesis
from dictation.recognition.speech import similarity

SURE = Evidence(
    normal="left ovary follicle sixteen",
    gap=0.1,
    unlike=1.0,
    margin=9.0,
    rival="left ovary follicle sixty",
    pace_nats=0.0,
    similarity=1.0,
    similarity_untaught=0.8,
    readable=True,
    loud_over_floor=100.0,
    same=True,
)
ASKED = 0.8


def confidence(evidence: Evidence) -> float:
    return confidence_in(odds_of(evidence), evidence.margin)


def test_clear_words_without_a_rival_are_sure() -> None:
    assert confidence(SURE) > 0.95
    assert reasons_of(SURE) == ()


@pytest.mark.parametrize(
    ("worse", "reason"),
    [
        ({"margin": 0.5}, "left ovary follicle sixty"),
        ({"pace_nats": -3.0}, "more was said"),
        ({"gap": 8.0}, "fit the sound poorly"),
        ({"unlike": 6.0}, "rather like other words"),
        ({"readable": False}, "cannot be read"),
        ({"loud_over_floor": 2.5}, "surroundings are loud"),
    ],
)
def test_each_doubt_lowers_confidence_and_is_named(worse: dict[str, float], reason: str) -> None:
    worse_off = dataclasses.replace(SURE, **worse)  # type: ignore[arg-type]
    assert confidence(worse_off) < confidence(SURE)
    assert any(reason in each for each in reasons_of(worse_off))


def test_a_near_rival_is_asked_about_and_a_far_one_is_not() -> None:
    assert confidence(dataclasses.replace(SURE, margin=0.8)) < ASKED
    assert confidence(dataclasses.replace(SURE, margin=4.0)) > ASKED


def test_a_rival_is_near_from_further_off_where_the_free_hearing_says_something_else() -> None:
    far = dataclasses.replace(SURE, margin=4.0)
    assert confidence(far) > ASKED
    assert confidence(dataclasses.replace(far, same=False)) < ASKED


def test_a_rival_is_near_from_further_off_in_loud_surroundings() -> None:
    loud = dataclasses.replace(SURE, margin=4.0, loud_over_floor=5.0)
    assert confidence(loud) < ASKED
    assert confidence(dataclasses.replace(loud, margin=8.0)) > ASKED


def test_a_near_rival_is_no_doubt_where_the_untaught_model_hears_the_same() -> None:
    near = dataclasses.replace(SURE, margin=2.0, unlike=0.0)
    assert confidence(near) < ASKED
    assert confidence(dataclasses.replace(near, same_untaught=True)) > ASKED


def test_words_that_both_models_find_unlike_were_not_meant_for_us() -> None:
    talk = dataclasses.replace(
        SURE,
        normal="go on",
        gap=3.0,
        unlike=8.0,
        similarity=0.4,
        similarity_untaught=0.3,
        same=False,
    )
    assert talk.refused(odds_of(talk).meant)
    assert not SURE.refused(odds_of(SURE).meant)


def test_words_that_cannot_be_read_are_never_sure() -> None:
    assert confidence(dataclasses.replace(SURE, readable=False)) < 0.5


def test_words_that_neither_model_would_write_freely_are_refused() -> None:
    unlike = dataclasses.replace(SURE, similarity=0.4, similarity_untaught=0.3, same=False)
    assert unlike.refused(0.9)
    assert not dataclasses.replace(unlike, same_untaught=True).refused(0.9)
    assert not dataclasses.replace(unlike, similarity_untaught=0.7).refused(0.9)


def test_a_single_word_is_asked_about_with_a_chance_with_which_a_long_phrase_is_refused() -> None:
    assert not dataclasses.replace(SURE, normal="cull").refused(0.4)
    assert SURE.refused(0.4)
    assert not SURE.refused(0.6)


@given(near=st.floats(0, 30), further=st.floats(0, 30), unlike=st.floats(0, 30))
def test_a_further_rival_and_a_better_borne_out_word_never_lower_confidence(
    near: float, further: float, unlike: float
) -> None:
    odds = odds_of(dataclasses.replace(SURE, unlike=unlike))
    assert confidence_in(odds, near) <= confidence_in(odds, near + further)
    assert odds.meant <= odds_of(dataclasses.replace(SURE, unlike=0.0)).meant
    assert confidence_in(odds, math.inf) <= 1.0


def test_a_free_hearing_of_the_same_words_is_alike_however_they_are_spelt() -> None:
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
