"""Signing knowingly: what is open is counted, what bars it is named, and each list says how far."""

from __future__ import annotations

import pytest

from dictation.decide.people.agenda import agenda, sounds_like_ours
from dictation.decide.people.orders import About, order
from dictation.decide.people.signing import standing, sure_exams
from dictation.errors import WrongUseError
from dictation.visit.inputs import By, Deed, ExamApproved
from grammar.checks import check_exam
from tests.decide.spoken import Chatter, Phrase, Unsure, visit_of

BOTH: tuple[Phrase, ...] = (
    "cow eight three seven",
    "open",
    "next cow four one two",
    Unsure("pregnant forty days", ("pregnant fifty days",)),
)
ANNA, BEN = By("anna"), By("ben")


def told(*said: Phrase | tuple[Deed, By]) -> str:
    visit = visit_of(*said)
    return standing(visit, {exam.number: check_exam(exam) for exam in visit.exams})


def test_a_list_says_draft_or_by_whom_and_what_changed_since() -> None:
    every = ExamApproved(None)
    assert told(*BOTH) == "draft, 1 open"
    assert told(*BOTH, ExamApproved(1)) == "draft, 1 open, 1 of 2 animals approved"
    assert told(*BOTH[:2], (every, ANNA)) == "approved by anna, 2026-11-18 09:00 UTC"
    assert told(*BOTH, (every, ANNA)) == ("approved by anna, 2026-11-18 09:00 UTC, 1 left open")
    changed = (
        *BOTH[:2],
        (every, ANNA),
        (order(visit_of(*BOTH[:2]), "tag", About(1), "838").deed, BEN),
    )
    assert told(*changed) == (
        "approved by anna, 2026-11-18 09:00 UTC, changed since by ben; draft, 0 open"
    )


def test_what_is_sure_is_approved_and_nothing_else() -> None:
    visit = visit_of(*BOTH)
    assert sure_exams(visit, {exam.number: check_exam(exam) for exam in visit.exams}) == (1,)
    deed = order(visit, "approve", About(), "sure").deed
    approved = visit_of(*BOTH, deed)
    assert [exam.approved is not None for exam in approved.exams] == [True, False]
    assert not approved.visit_approved
    assert approved.approval(0) is None


@pytest.mark.parametrize(
    ("said", "why"),
    [
        (("cow eight three seven", "open", "next cow eight three seven", "open"), "same tag"),
        (("next", "open"), "no tag"),
        ((Unsure("cow eight three seven"), "open"), "her tag is open"),
        (("cow eight three seven", "pregnant forty days", "give prostaglandin"), "Not approved"),
    ],
)
def test_an_approval_is_refused_where_it_may_be_of_another_cow_or_must_be_said_twice(
    said: tuple[Phrase, ...], why: str
) -> None:
    with pytest.raises(WrongUseError, match=why):
        order(visit_of(*said), "approve", About(), "visit")
    with pytest.raises(WrongUseError, match=why):
        order(visit_of(*said), "approve", About(1))


def test_what_is_open_comes_by_its_weight() -> None:
    visit = visit_of(
        Unsure("cow eight three seven"),
        Unsure("pregnant forty days", ("pregnant fifty days",)),
        "give prostaglandin",
        Chatter("and on the right"),
        Chatter("shut that gate"),
    )
    matters = agenda(visit, {exam.number: check_exam(exam) for exam in visit.exams})
    assert [matter.weight for matter in matters] == sorted(matter.weight for matter in matters)
    assert [matter.phrase for matter in matters if matter.phrase] == [1, 2, 4]


def test_talk_is_not_among_what_is_open() -> None:
    assert sounds_like_ours("and on the right")
    assert not sounds_like_ours("shut that gate")
    assert not sounds_like_ours("")
