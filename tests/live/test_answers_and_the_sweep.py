"""Answers by value, and the sweep named once when an animal is left."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from dictation.decide.understanding import Understanding, answers_of, told_apart
from dictation.live.events import Event, Unspoken
from dictation.live.guide import LEFT_FIRST, RIGHT_FIRST, Guide
from dictation.live.session import Session
from dictation.visit.journal import Journal
from grammar.checks.sweep import not_seen_structures
from grammar.findings import Ovary, SweepStructure
from grammar.parse import parse
from tests.decide.spoken import Unsure, given_of

DAY = date(2026, 11, 18)
SWEPT = "cervix normal, body clear, both horns clear, left ovary CL 22"


class Desk:
    """A session with the guide, told by typed phrases."""

    def __init__(self, folder: Path, order: tuple[SweepStructure, ...] = LEFT_FIRST) -> None:
        self.journal = Journal.write(folder)
        understanding = Understanding(parse, lambda: self.session.visit)
        self.session = Session(self.journal, understanding)
        self.session.begin(DAY, DAY)
        self.guide = Guide(self.session, understanding, order)

    def say(self, *phrases: str) -> list[str]:
        """What the guide said to them."""
        told: list[Event] = []
        for phrase in phrases:
            told += self.guide.after(self.session.type(phrase))
        return [event.sentence for event in told if isinstance(event, Unspoken)]


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    return Desk(tmp_path)


def test_what_was_not_spoken_of_is_named_once(desk: Desk) -> None:
    told = desk.say("cow 412", SWEPT, "next cow", "cow 413", "open", "next cow")
    assert told == ["Right ovary not recorded."]


def test_a_whole_sweep_is_not_remarked_on(desk: Desk) -> None:
    assert desk.say("cow 412", SWEPT, "right ovary follicle 9", "next cow") == []


@pytest.mark.parametrize(
    "answer", ["not seen", "could not reach", "right ovary not seen", "right ovary could not reach"]
)
def test_an_answer_goes_to_the_animal_that_was_left(desk: Desk, answer: str) -> None:
    desk.say("cow 412", SWEPT, "next cow", answer, "cow 413", "open")
    first, second = desk.session.visit.exams
    assert not_seen_structures(first) == (SweepStructure.RIGHT_OVARY,)
    assert second.tag == "413"
    assert not_seen_structures(second) == ()


def test_later_the_same_words_are_the_next_animals(desk: Desk) -> None:
    desk.say("cow 412", SWEPT, "next cow", "cow 413", "right ovary not seen")
    first, second = desk.session.visit.exams
    assert not_seen_structures(first) == ()
    assert not_seen_structures(second) == (SweepStructure.RIGHT_OVARY,)


def test_stations_are_named_in_the_users_own_order(tmp_path: Path) -> None:
    desk = Desk(tmp_path, RIGHT_FIRST)
    told = desk.say("cow 412", "cervix normal, body clear", "next cow")
    assert told == ["Right horn, right ovary, left horn and left ovary not recorded."]


def asked(desk: Desk) -> Session:
    unsure = Unsure("left ovary CL 40", ("left ovary CL 14",))
    desk.session.take(given_of(desk.session.visit, unsure))
    return desk.session


@pytest.mark.parametrize(
    ("answer", "size_mm"),
    [("forty", 40.0), ("fourteen", 14.0), ("14", 14.0), ("fourteen millimetres", 14.0)],
)
def test_a_question_is_answered_by_the_value_itself(
    desk: Desk, answer: str, size_mm: float
) -> None:
    session = asked(desk)
    assert session.visit.asked is not None
    assert answers_of(session.visit.asked, session.visit) == ("forty", "fourteen")
    session.type(answer)
    assert not session.visit.open_queries
    exam = session.visit.exam_in_hand
    assert exam is not None
    assert [r.finding.size_mm for r in exam.standing if isinstance(r.finding, Ovary)] == [size_mm]


def test_another_value_is_no_answer(desk: Desk) -> None:
    session = asked(desk)
    session.type("fifteen")
    assert session.visit.open_queries


@pytest.mark.parametrize(
    ("one", "other", "apart"),
    [
        ("left ovary CL 40", "left ovary CL 14", ("forty", "fourteen")),
        ("pregnant 105 days", "pregnant 109 days", ("a hundred and five", "a hundred and nine")),
        ("right ovary CL 24", "crown rump length 24", ("right ovary cl", "crown rump length")),
        ("left horn fluid 20", "right horn fluid 20", ("left", "right")),
        ("next cow 2519", "next cow 519", ("two five one nine", "five one nine")),
        ("left ovary CL 99", None, ("ninety nine",)),
    ],
)
def test_a_question_is_put_by_what_differs_and_no_number_is_torn(
    desk: Desk, one: str, other: str | None, apart: tuple[str, ...]
) -> None:
    desk.say("cow 412", "cervix normal")
    unsure = Unsure(one, () if other is None else (other,))
    desk.session.take(given_of(desk.session.visit, unsure))
    query = desk.session.visit.asked
    assert query is not None
    assert told_apart(query, desk.session.visit) == apart


def test_the_words_that_differ_are_an_answer_as_the_next_phrase_and_a_finding_later(
    desk: Desk,
) -> None:
    desk.say("cow 412", "cervix normal")
    unsure = Unsure("right ovary CL 24", ("crown rump length 24",))
    desk.session.take(given_of(desk.session.visit, unsure))
    desk.say("crown rump length")
    assert not desk.session.visit.open_queries
    desk.session.take(given_of(desk.session.visit, unsure))
    desk.say("body clear", "right ovary CL")
    assert desk.session.visit.open_queries


def test_which_tag_it_was_is_answered_by_its_digits(desk: Desk) -> None:
    desk.say("cow 412", "open")
    desk.session.take(given_of(desk.session.visit, Unsure("next cow 831", ("next cow 837",))))
    desk.say("eight three seven")
    assert [exam.tag for exam in desk.session.visit.exams] == ["412", "837"]
    assert not desk.session.visit.open_queries


@pytest.mark.parametrize(
    "words", ["heifer 2605", "electronic number 982000123456789", "cow 1000.5"]
)
def test_large_numbers_are_no_answers_and_no_mistake(desk: Desk, words: str) -> None:
    asked(desk)
    desk.say(words)
    assert desk.session.visit.queries[0].answer is None
