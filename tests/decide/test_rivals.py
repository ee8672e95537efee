"""Which other readings are worth a question, and what the farm's own papers settle."""

from __future__ import annotations

from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dictation.decide.rivals import could_be_meant, is_grave, worth_a_question
from dictation.decide.weighing import TAKEN_NATS, Weighed, weighed
from dictation.recognition.protocol import Heard, Hypothesis, Odds, Outcome
from dictation.visit.facts import HerdListed
from dictation.visit.state import Visit
from grammar.exam import KnownAnimal, Service
from grammar.findings import Command, Finding, Said
from grammar.normalise import normalise
from grammar.parse import parse
from grammar.sample import sample_phrase
from tests.decide.spoken import ON, visit_of

COW = "cow eight three seven"


def said(text: str) -> tuple[Said, ...]:
    reading = parse(text, ON)
    assert reading.unread is None, text
    return reading.said


def heard(best: str, *others: str, nats: float = 0.5, unlike: float = 0.0) -> Heard:
    """Words that nothing speaks against but what came near."""
    found = tuple(
        Hypothesis(text, normalise(text), (), -0.1, 5, rank=-(nats if place else 0.0))
        for place, text in enumerate((best, *others))
    )
    odds = Odds(meant=0.99, right=0.0, unlike_nats=unlike, near_nats=2.5)
    return Heard(Outcome.HEARD, found, "other words", confidence=0.5, odds=odds)


def taken(given_heard: Heard, *before: str | HerdListed) -> Weighed:
    visit: Visit = visit_of(*before)
    return weighed(given_heard, parse, visit, ON)


def whats(values: tuple[Said, ...]) -> list[Finding | Command]:
    return [each.what for each in values]


@pytest.mark.parametrize(
    ("top", "rival"),
    [
        ("CL right, twenty four", "CL right"),
        ("CL right, breed her on heat", "CL right"),
        ("crown rump thirty", "crown rump thirty millimetres"),
        ("pregnant forty days", "pregnant about forty days"),
        ("cow five one nine", "next cow zero zero three"),
        ("placentome length twenty four", "placentome length two"),
        ("pregnant forty days", "pregnant fourteen days"),
    ],
)
def test_a_part_the_same_or_what_nobody_means_is_no_rival(top: str, rival: str) -> None:
    assert not worth_a_question(said(rival), said(top), ON)
    assert taken(heard(top, rival), COW).doubts == ()


@pytest.mark.parametrize(
    ("top", "rival"),
    [
        ("pregnant forty days", "pregnant fifty days"),
        ("left ovary CL twenty two", "right ovary CL twenty two"),
        ("pregnant", "open"),
        ("pregnant twins", "pregnant"),
        ("CL right", "CL right, twenty four"),
    ],
)
def test_another_value_that_could_be_meant_is_asked_about(top: str, rival: str) -> None:
    weighing = taken(heard(top, rival), COW)
    assert weighing.doubts
    assert whats(weighing.alternatives[0]) == whats(said(rival))


@given(seed=st.randoms(use_true_random=False))
def test_no_phrase_is_its_own_rival_nor_is_what_is_left_of_it(seed: object) -> None:
    top = said(sample_phrase(seed))  # type: ignore[arg-type]
    assert not worth_a_question(top, top, ON)


def test_a_far_rival_is_not_asked_about_and_one_that_sounds_alike_is_from_further_off() -> None:
    far = "pregnant seventy days"
    assert taken(heard("pregnant forty days", far, nats=3.0), COW).doubts == ()
    alike = heard("left ovary CL fifteen", "left ovary CL fifty", nats=3.0)
    assert not could_be_meant(said("left ovary CL fifty"), ON)
    assert taken(alike, COW).doubts == ()
    alike = heard("right ovary cyst fifty", "right ovary cyst sixty", nats=3.0)
    assert taken(alike, COW).doubts


LIST = HerdListed("digest", "list.csv", tuple(KnownAnimal(tag) for tag in ("588", "837", "412")))


def test_a_listed_tag_is_taken_against_one_that_is_not_and_says_so() -> None:
    weighing = taken(heard("cow five eight eight", "cow five eight nine", nats=0.2), LIST)
    assert weighing.doubts == ()
    assert weighing.by_context == ("tag 588 is on the herd list, tag 589 is not",)
    assert whats(weighing.alternatives[0]) == whats(said("cow five eight nine"))


def test_a_listed_tag_a_hair_behind_is_taken_and_one_further_behind_is_asked_about() -> None:
    near = taken(heard("cow five eight nine", "cow five eight eight", nats=TAKEN_NATS), LIST)
    assert near.doubts == ()
    assert whats(near.said) == whats(said("cow five eight eight"))
    further = taken(heard("cow five eight nine", "cow five eight eight", nats=2.0), LIST)
    assert further.doubts


def test_two_listed_tags_that_sounded_alike_are_asked_about() -> None:
    assert taken(heard("cow five eight eight", "cow eight three seven", nats=3.0), LIST).doubts


def test_a_service_settles_between_two_ages_and_says_so() -> None:
    served = KnownAnimal("837", services=(Service(ON - timedelta(days=41)),))
    listed = HerdListed("digest", "list.csv", (served,))
    unsettled = taken(heard("pregnant forty days", "pregnant sixty days"), COW)
    assert unsettled.doubts
    settled = taken(heard("pregnant forty days", "pregnant sixty days"), listed, COW)
    assert settled.doubts == ()
    assert settled.by_context == ("40 days fits the service 41 days ago, 60 days fits none",)
    open_instead = taken(heard("pregnant forty days", "open"), listed, COW)
    assert open_instead.doubts, "her status is never settled by a date"


@pytest.mark.parametrize(
    "words", ["in calf", "open", "cull", "twins", "endometritis", "close visit"]
)
def test_few_grave_words_that_the_untaught_model_does_not_bear_out_are_asked(words: str) -> None:
    assert any(is_grave(each.what) for each in said(words))
    assert taken(heard(words, unlike=0.5), COW).doubts == ()
    assert taken(heard(words, unlike=5.0), COW).doubts == ("it may also have been 'other words'",)


def test_what_is_not_grave_needs_no_second_witness() -> None:
    assert taken(heard("left ovary static", unlike=5.0), COW).doubts == ()
    assert taken(heard("left ovary", unlike=8.0), COW).doubts


def test_where_all_that_is_kept_says_the_same_nothing_is_known_of_what_lies_beyond() -> None:
    same = tuple(
        f"{start}CL right, twenty four{end}"
        for start in ("", "okay ", "so ")
        for end in ("", " mil", " millimetres", " mm")
    )
    crowded = heard(*dict.fromkeys(same), nats=0.8)
    alone = heard(*same[:3], nats=0.8)
    assert len(crowded.hypotheses) == 12
    assert taken(alone, COW).doubts == ()
    assert taken(crowded, COW).doubts


@given(one=st.randoms(use_true_random=False), other=st.randoms(use_true_random=False))
def test_any_two_phrases_can_be_weighed_against_each_other(one: object, other: object) -> None:
    first, second = sample_phrase(one), sample_phrase(other)  # type: ignore[arg-type]
    assert taken(heard(first, second), LIST, COW).said
