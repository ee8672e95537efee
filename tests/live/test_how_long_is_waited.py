"""How long a silence ends what is being said."""

from __future__ import annotations

import pytest

from dictation.audio.endpoint import BEGUN_HANG_OVER_S, LIVE_HANG_OVER_S, SENTENCE_HANG_OVER_S
from dictation.live.pauses import pause_after
from dictation.recognition.protocol import Heard, Hypothesis, Outcome
from dictation.visit.facts import HerdListed
from grammar.exam import KnownAnimal
from grammar.normalise import normalise
from grammar.parse import parse
from tests.decide.spoken import visit_of

LISTED = (KnownAnimal("412"),)


def pause_s(words: str, confidence: float = 0.99, outcome: Outcome = Outcome.HEARD) -> float:
    found = (Hypothesis(words, normalise(words), (), 0.0, 1),)
    heard = Heard(outcome, found, words, confidence=confidence)
    return pause_after(heard, parse, visit_of(HerdListed("digest", "list.csv", LISTED)))


@pytest.mark.parametrize(
    "words", ["left ovary CL twenty two", "pregnant", "next cow", "CL right", "yes", "cow 412"]
)
def test_what_is_a_sentence_has_ended_whatever_could_follow(words: str) -> None:
    assert pause_s(words) == SENTENCE_HANG_OVER_S


@pytest.mark.parametrize("words", ["left ovary", "cervix normal, right horn", "left"])
def test_the_beginning_of_one_waits_longest(words: str) -> None:
    assert pause_s(words) == BEGUN_HANG_OVER_S


@pytest.mark.parametrize(
    "words", ["left ovary CL twenty", "pregnant a hundred", "CL right 40", "cow four one"]
)
def test_a_number_or_a_tag_that_may_go_on_is_not_cut(words: str) -> None:
    assert pause_s(words) == LIVE_HANG_OVER_S


def test_what_is_not_sure_or_not_ours_waits_as_long_as_ever() -> None:
    assert pause_s("pregnant", confidence=0.4) == LIVE_HANG_OVER_S
    assert pause_s("hold her please", outcome=Outcome.NOT_OUR_LANGUAGE) == LIVE_HANG_OVER_S
