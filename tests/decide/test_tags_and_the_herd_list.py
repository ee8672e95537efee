"""The herd list makes a tag likelier, and never changes one in silence."""

from __future__ import annotations

import pytest

from dictation.visit.facts import HerdListed
from dictation.visit.state import Visit
from grammar.exam import FindingState, KnownAnimal
from tests.decide.spoken import Phrase, Unsure, standing, states, sure, visit_of


def herd(*tags: str) -> HerdListed:
    return HerdListed("digest", "list.csv", tuple(KnownAnimal(tag) for tag in tags))


LISTED = herd("588", "837", "412")


def asked(visit: Visit) -> list[str]:
    assert visit.asked is not None
    return [alternative.words for alternative in visit.asked.alternatives]


def tags(*phrases: Phrase) -> list[str | None]:
    return [exam.tag for exam in visit_of(*phrases).exams]


def test_a_listed_tag_heard_surely_is_taken() -> None:
    visit = visit_of(LISTED, sure("cow five eight eight"))
    assert visit.asked is None
    assert states(visit.exam_in_hand) == [FindingState.ACCEPTED]


def test_an_unlisted_tag_is_asked_about_and_the_listed_one_heard_is_offered_first() -> None:
    visit = visit_of(LISTED, sure("cow five eight", "cow five eight eight"))
    assert asked(visit) == ["tag 588", "tag 58"]
    assert states(visit.exam_in_hand) == [FindingState.QUERIED]
    assert visit.asked is not None
    assert "tag 58 is not on the herd list, tag 588 is" in visit.asked.why


@pytest.mark.parametrize(("answer", "tag"), [("first one", "588"), ("second one", "58")])
def test_the_answer_decides_and_the_list_does_not(answer: str, tag: str) -> None:
    visit = visit_of(LISTED, sure("cow five eight", "cow five eight eight"), answer)
    assert [exam.tag for exam in visit.exams] == [tag]
    assert visit.asked is None


def test_an_unlisted_tag_with_nothing_else_heard_is_asked_about_with_listed_ones_like_it() -> None:
    visit = visit_of(LISTED, sure("cow five eight"))
    assert asked(visit) == ["tag 58", "tag 588"]
    assert states(visit.exam_in_hand) == [FindingState.QUERIED]


def test_an_unlisted_tag_like_no_listed_one_is_asked_about_alone() -> None:
    assert asked(visit_of(LISTED, sure("cow nine six two"))) == ["tag 962"]


def test_where_two_listed_tags_were_heard_too_none_of_them_is_put_first() -> None:
    both = herd("588", "581")
    visit = visit_of(both, sure("cow five eight", "cow five eight eight", "cow five eight one"))
    assert asked(visit) == ["tag 58", "tag 588", "tag 581"]


def test_that_a_tag_is_not_on_the_list_can_be_said_and_is_not_asked_then() -> None:
    visit = visit_of(LISTED, sure("cow five eight not on the list", "cow five eight eight"))
    assert visit.asked is None
    assert [exam.tag for exam in visit.exams] == ["58"]


def test_of_two_listed_tags_near_in_sound_neither_is_taken_unasked() -> None:
    near = herd("837", "831")
    heard = sure("cow eight three seven", "cow eight three one", apart_nats=4.0)
    assert asked(visit_of(near, heard)) == ["tag 837", "tag 831"]
    far = sure("cow eight three seven", "cow eight three one", apart_nats=9.0)
    assert visit_of(near, far).asked is None
    assert visit_of(herd("837"), heard).asked is None


def test_a_sure_unlisted_tag_opens_its_own_exam_though_it_is_asked_about() -> None:
    phrases = (LISTED, "cow eight three seven", "open", sure("cow nine six two"), "twins")
    assert tags(*phrases) == ["837", "962"]


def test_the_rest_of_the_breath_stays_as_it_was_heard() -> None:
    heard = sure("next cow five eight pregnant", "next cow five eight eight open")
    visit = visit_of(LISTED, heard, "first one")
    assert [exam.tag for exam in visit.exams] == ["588"]
    assert standing(visit.exam_in_hand)[-1] == "pregnant"


def test_without_a_list_a_tag_that_no_other_comes_near_is_taken_as_heard() -> None:
    visit = visit_of(sure("cow five eight", "cow five eight eight"))
    assert visit.asked is None
    assert [exam.tag for exam in visit.exams] == ["58"]


@pytest.mark.parametrize("words", ["cow five eight", "cow five eight not on the list"])
def test_without_a_list_to_decide_a_tag_that_another_comes_near_is_asked_about(words: str) -> None:
    visit = visit_of(sure(words, "cow five eight eight", apart_nats=4.0))
    assert asked(visit)[1:] == ["tag 588"]
    assert visit.asked is not None
    assert "tag 588 sounded nearly the same" in visit.asked.why


def test_a_typed_tag_is_not_asked_about() -> None:
    assert visit_of(LISTED, "cow five eight").asked is None


def test_a_doubtful_hearing_of_an_unlisted_tag_offers_the_listed_one_first_too() -> None:
    heard = Unsure("cow five eight", ("cow five eight eight",))
    assert asked(visit_of(LISTED, heard)) == ["tag 588", "tag 58"]


def test_one_number_in_two_colours_is_two_animals() -> None:
    visit = visit_of("yellow tag ninety one", "open", "blue tag ninety one", "pregnant")
    assert [len(exam.findings) for exam in visit.exams] == [2, 2]
    assert len(visit_of("yellow tag ninety one", "open", "tag ninety one", "lame").exams) == 1
