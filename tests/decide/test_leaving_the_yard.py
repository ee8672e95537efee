"""The end of a visit: what is left is said in one sentence, settled or left in so many words."""

from __future__ import annotations

import pytest

from dictation.visit.facts import HerdListed, RecordingOpened
from dictation.visit.inputs import VisitClosed
from dictation.visit.parts import Fate
from dictation.visit.state import Visit
from grammar.exam import KnownAnimal
from tests.decide.spoken import Unsure, standing, visit_of

HERD = HerdListed("digest", "list.csv", tuple(KnownAnimal(t) for t in ("519", "837", "412")))


def question(visit: Visit) -> str:
    assert visit.asked is not None
    return visit.asked.question


def test_what_is_missing_and_in_doubt_is_said_before_the_visit_closes() -> None:
    visit = visit_of(HERD, "cow 519", Unsure("open"), "end of visit")
    assert not visit.closed
    assert question(visit) == "1 of 3 seen, missing 837 and 412; 1 doubt. Close anyway?"


def test_a_long_list_of_missing_is_cut() -> None:
    many = HerdListed("d", "list.csv", tuple(KnownAnimal(str(n)) for n in range(500, 512)))
    assert question(visit_of(many, "cow 500", "open", "end of visit")) == (
        "1 of 12 seen, missing 501, 502 and 9 more. Close anyway?"
    )


def test_what_has_left_the_herd_is_not_missed() -> None:
    sold = HerdListed("d", "list.csv", (KnownAnimal("519"), KnownAnimal("837", last_status="Sold")))
    visit = visit_of(sold, "cow 519", "open", "end of visit")
    assert visit.closed
    assert visit.reply == "1 of 1 seen."


@pytest.mark.parametrize("words", ["close anyway", "leave them", "yes"])
def test_what_is_left_is_left_in_so_many_words(words: str) -> None:
    visit = visit_of(HERD, "cow 519", "open", "end of visit", words)
    assert visit.closed
    assert not visit.open_queries


def test_no_leaves_the_visit_open_and_what_is_left_can_be_settled_by_voice() -> None:
    phrases = (HERD, "cow 519", Unsure("open"), "cow 837", "open", "end of visit", "no")
    assert not visit_of(*phrases).closed
    settled = (*phrases, "back to cow 519", "yes", "cow 412", "pregnant", "end of visit")
    visit = visit_of(*settled)
    assert visit.closed
    assert not visit.open_queries


def test_without_a_list_and_without_doubts_it_closes_at_once() -> None:
    assert visit_of("cow 519", "open", "end of visit").closed


def test_leave_them_means_nothing_before_the_end_was_spoken_of() -> None:
    assert not visit_of(HERD, "cow 519", "open", "leave them").closed


def test_a_doubtful_end_of_visit_closes_nothing() -> None:
    visit = visit_of("cow 519", "open", Unsure("end of visit"))
    assert not visit.closed
    assert visit.in_hand == 1


CLOSED = ("cow 519", "open", "end of visit")


@pytest.mark.parametrize(
    "words", ["undo", "scratch that", "open the visit again", "reopen the visit"]
)
def test_a_closed_visit_opens_again_where_that_is_asked(words: str) -> None:
    visit = visit_of(*CLOSED, words, "cow 837", "pregnant")
    assert [exam.tag for exam in visit.exams] == ["519", "837"]
    assert standing(visit.exams[0]) == ["cow 519", "open"]


def test_a_tag_said_into_a_closed_visit_waits_and_is_told_what_to_say() -> None:
    visit = visit_of(*CLOSED, "cow 837", "pregnant")
    assert visit.closed
    assert len(visit.exams) == 1
    assert "open the visit again" in question(visit)
    opened = visit_of(*CLOSED, "cow 837", "pregnant", "open the visit again", "twins")
    assert [exam.tag for exam in opened.exams] == ["519", "837"]
    assert standing(opened.exams[1]) == ["cow 837", "pregnant", "twins"]
    assert not opened.open_queries


def test_doubtful_words_in_a_closed_visit_ask_nothing() -> None:
    visit = visit_of(*CLOSED, Unsure("cow 837"))
    assert visit.closed
    assert visit.phrases[-1].fate is Fate.REFUSED
    assert not visit.open_queries


def test_whoever_gives_another_recording_goes_on_with_the_visit() -> None:
    for end in ("end of visit", VisitClosed()):
        visit = visit_of("cow 519", "open", end, RecordingOpened("d", "b.txt"), "cow 837")
        assert [exam.tag for exam in visit.exams] == ["519", "837"]


def test_a_visit_that_only_a_program_ended_is_gone_on_with() -> None:
    visit = visit_of("cow 519", "open", VisitClosed(), "cow 837")
    assert [exam.tag for exam in visit.exams] == ["519", "837"]
