"""What is said lands on the right cow: lone tags, doubtful ones, going back, her right number."""

from __future__ import annotations

import pytest

from dictation.visit.facts import HerdListed
from dictation.visit.parts import QueryState
from dictation.visit.state import Visit
from grammar.checks import check_exam
from grammar.exam import FindingState, KnownAnimal
from grammar.findings import Animal, AnimalClass, Note
from tests.decide.spoken import Chatter, Phrase, Unsure, standing, visit_of

HERD = HerdListed("digest", "list.csv", tuple(KnownAnimal(t) for t in ("519", "837", "412", "140")))
COW = "cow five one nine"


def tags(visit: Visit) -> list[str | None]:
    return [exam.tag for exam in visit.exams]


def said(visit: Visit) -> list[list[str]]:
    """Of each exam what stands beside the tag."""
    return [
        [r.heard for r in exam.standing if not isinstance(r.finding, Animal)]
        for exam in visit.exams
    ]


@pytest.mark.parametrize("tag", ["eight three seven", "eight thirty-seven", "837"])
def test_a_listed_tag_said_alone_opens_that_cow_and_what_follows_is_hers(tag: str) -> None:
    visit = visit_of(HERD, COW, "open", tag, "pregnant")
    assert tags(visit) == ["519", "837"]
    assert said(visit) == [["open"], ["pregnant"]]
    assert not visit.open_queries


def test_two_listed_tags_in_a_row_are_two_cows() -> None:
    visit = visit_of(HERD, COW, "eight three seven", "open")
    assert tags(visit) == ["519", "837"]
    assert said(visit) == [[], ["open"]]


def test_digits_that_are_not_on_the_list_are_asked_and_what_follows_waits_with_her() -> None:
    phrases = (HERD, COW, "open", "six one two", "pregnant", "twins")
    waiting = visit_of(*phrases)
    assert said(waiting) == [["open"], ["pregnant", "twins"]]
    assert len(waiting.open_queries) == 1
    assert tags(visit_of(*phrases, "yes")) == ["519", "612"]
    no = visit_of(*phrases, "no")
    assert tags(no) == ["519"]
    assert said(no) == [["open", "pregnant", "twins"]]
    assert not no.exams[0].closed


def test_digits_without_a_list_open_a_cow() -> None:
    assert tags(visit_of(COW, "open", "eight three seven", "pregnant")) == ["519", "837"]


DOUBTFUL = Unsure("cow eight three seven")


@pytest.mark.parametrize(
    "doubtful",
    [DOUBTFUL, Unsure("next cow eight three seven"), Unsure("next"), Unsure("back to cow 837")],
)
def test_a_doubtful_reading_opens_and_closes_nothing(doubtful: Unsure) -> None:
    visit = visit_of(HERD, COW, "open", doubtful)
    assert [(e.tag, e.closed) for e in visit.exams] == [("519", False)]
    assert visit.in_hand == 1
    assert visit.asked is not None


def test_what_follows_a_doubtful_tag_moves_as_one_when_it_is_settled() -> None:
    phrases = (HERD, COW, "open", DOUBTFUL, "pregnant", "right ovary CL twenty")
    waiting = visit_of(*phrases)
    assert said(waiting) == [["open"], ["pregnant", "right ovary cl twenty"]]
    assert waiting.exams[1].standing[0].state is FindingState.QUERIED
    yes = visit_of(*phrases, "yes")
    assert tags(yes) == ["519", "837"]
    assert yes.exams[1].standing[-1].state is FindingState.ACCEPTED
    assert not yes.open_queries
    # Not this tag: another cow all the same, and her number is still to be said.
    no = visit_of(*phrases, "no", "cow four one two")
    assert tags(no) == ["519", "412"]
    assert said(no) == [["open"], ["pregnant", "right ovary cl twenty"]]


def test_taking_back_what_followed_gives_the_first_cow_back() -> None:
    visit = visit_of(HERD, COW, "open", DOUBTFUL, "pregnant", "scratch that")
    assert tags(visit) == ["519"]
    assert said(visit) == [["open"]]
    assert [q.state for q in visit.queries] == [QueryState.OPEN]


def test_a_sure_tag_straight_behind_a_doubtful_one_is_what_it_was() -> None:
    visit = visit_of(HERD, COW, "open", Unsure("cow four one two"), "cow eight three seven", "cull")
    assert tags(visit) == ["519", "837"]
    assert not visit.open_queries


def test_a_question_answered_after_the_cow_has_left_still_names_her() -> None:
    phrases = (HERD, COW, "open", DOUBTFUL, "pregnant", "cow four one two", "twins")
    visit = visit_of(*phrases, "back to cow 837", "yes")
    assert tags(visit) == ["519", "837", "412"]
    assert said(visit) == [["open"], ["pregnant"], ["twins"]]


def test_chatter_behind_a_doubtful_tag_opens_nothing() -> None:
    assert tags(visit_of(HERD, COW, "open", DOUBTFUL, Chatter("shut the gate"))) == ["519"]


def sizes(*phrases: Phrase) -> list[object]:
    exam = visit_of(HERD, COW, *phrases).exams[0]
    return [getattr(f, "size_mm", None) for f in exam.findings[1:]]


def test_back_to_a_cow_puts_her_in_hand_with_all_she_had() -> None:
    phrases = (HERD, COW, "open", "cow 837", "pregnant")
    for words in ("back to cow five one nine", "back to five one nine"):
        visit = visit_of(*phrases, words, "left ovary CL twenty")
        assert said(visit) == [["open", "left ovary cl twenty"], ["pregnant"]]
        assert [exam.closed for exam in visit.exams] == [False, True]
    forth = visit_of(*phrases, "back to cow five one nine", "back to cow 837", "twins")
    assert said(forth) == [["open"], ["pregnant", "twins"]]


def test_back_to_a_cow_that_was_not_seen_is_asked() -> None:
    visit = visit_of(HERD, COW, "open", "back to cow 412")
    assert tags(visit) == ["519"]
    assert visit.asked is not None
    assert tags(visit_of(HERD, COW, "open", "back to cow 412", "yes", "pregnant")) == ["519", "412"]


def test_same_cow_again_is_the_one_before() -> None:
    visit = visit_of(HERD, COW, "open", "next", "same cow again", "twins")
    assert said(visit) == [["open", "twins"]]
    stays = visit_of(HERD, COW, "open", "cow 837", "pregnant", "same cow again", "twins")
    assert said(stays) == [["open"], ["pregnant", "twins"]]


@pytest.mark.parametrize(
    "words",
    [
        "that was cow eight three seven",
        "that was 837",
        "wrong cow, she is 837",
        "wrong cow, she's cow eight three seven",
        "make the tag 837",
        "correction, cow eight three seven",
        "actually cow eight three seven",
    ],
)
def test_her_right_number_changes_nothing_but_the_tag(words: str) -> None:
    visit = visit_of(HERD, COW, "open", "left ovary CL twenty", words)
    assert tags(visit) == ["837"]
    assert said(visit) == [["open", "left ovary cl twenty"]]
    assert not visit.open_queries
    assert tags(visit_of(HERD, COW, "open", words, "scratch that")) == ["519"]


@pytest.mark.parametrize("words", ["no, cow 412", "wrong cow, she is 412", "sorry, that was 412"])
def test_the_right_number_of_a_cow_in_question_is_hers_and_not_of_the_one_before(
    words: str,
) -> None:
    for between in ((), ("pregnant",)):
        visit = visit_of(HERD, COW, "open", DOUBTFUL, *between, words, "twins")
        assert tags(visit) == ["519", "412"]
        assert said(visit) == [["open"], [*between, "twins"]]
        assert not visit.open_queries


def test_her_number_can_be_said_once_she_has_left() -> None:
    visit = visit_of(HERD, "next", "open", "close", "that was cow eight three seven")
    assert tags(visit) == ["837"]
    assert visit.in_hand is None
    following = visit_of(HERD, COW, "open", "next", "that was cow 837", "cow 412", "twins")
    assert tags(following) == ["837", "412"]


def test_no_tag_is_another_cow_with_what_she_looks_like_as_words() -> None:
    visit = visit_of(HERD, COW, "open", "no tag, black heifer", "pregnant", "no tag", "twins")
    assert tags(visit) == ["519", None, None]
    assert said(visit) == [["open"], ["no tag black heifer", "pregnant"], ["twins"]]
    found = visit.exams[1].findings
    assert found[:2] == (Animal(animal_class=AnimalClass.HEIFER), Note("black heifer"))


@pytest.mark.parametrize("tag", ["cow 837", "eight three seven", "next cow 837"])
def test_a_tag_behind_a_cow_without_one_is_the_next_cow(tag: str) -> None:
    visit = visit_of(HERD, COW, "open", "no tag, black heifer", "pregnant", tag, "twins")
    assert tags(visit) == ["519", None, "837"]
    assert said(visit)[1:] == [["no tag black heifer", "pregnant"], ["twins"]]


def test_a_number_alone_is_not_asked_about_twice() -> None:
    visit = visit_of(HERD, COW, "open", Unsure("six one two"), "pregnant", "first one")
    assert tags(visit) == ["519", "612"]
    assert not visit.open_queries


def test_that_she_came_through_twice_settles_both_exams() -> None:
    phrases = (HERD, COW, "open", "cow 837", "pregnant", COW, "cull")
    twice = "same_tag_twice"
    flagged = [{f.rule for f in check_exam(e)} for e in visit_of(*phrases).exams]
    assert [twice in rules for rules in flagged] == [True, False, True]
    told = visit_of(*phrases, "she came through twice")
    assert all(twice not in {f.rule for f in check_exam(exam)} for exam in told.exams)
    undone = visit_of(*phrases, "she came through twice", "scratch that")
    assert [twice in {f.rule for f in check_exam(e)} for e in undone.exams] == [True, False, True]


def test_a_number_that_the_last_phrase_wants_is_that_value() -> None:
    assert sizes("left ovary CL", "twenty-two") == [22]
    assert sizes("left ovary CL", "twenty-two millimetres") == [22]
    aged = visit_of(HERD, COW, "pregnant", "fifty").exams[0].findings[-1]
    assert getattr(aged, "age_days", None) == 50


def test_a_number_that_cannot_be_the_value_or_is_said_as_digits_is_a_cow() -> None:
    assert tags(visit_of(HERD, COW, "left ovary CL", "eight thirty-seven")) == ["519", "837"]
    assert tags(visit_of(HERD, COW, "pregnant", "one four oh", "open")) == ["519", "140"]
    assert tags(visit_of(HERD, COW, "left ovary CL twenty", "four one two")) == ["519", "412"]


def test_a_number_that_may_be_either_is_asked_and_what_follows_waits() -> None:
    phrases = (HERD, COW, "pregnant", "one forty")
    visit = visit_of(*phrases)
    assert tags(visit) == ["519"]
    assert visit.asked is not None
    cow = visit_of(*phrases, "open", "first one")
    assert tags(cow) == ["519", "140"]
    age = visit_of(*phrases, "twins", "second one")
    assert tags(age) == ["519"]
    assert standing(age.exams[0])[-1] == "twins" or "twins" in standing(age.exams[0])
    ages = [getattr(f, "age_days", None) for f in age.exams[0].findings]
    assert 140 in ages
