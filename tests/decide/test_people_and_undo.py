"""A phrase put right, a missed animal, and taking back what a person did."""

from __future__ import annotations

import random

import pytest

from dictation.decide.people.orders import findings_typed
from dictation.decide.taking_back import (
    is_taken_back,
    last_to_redo,
    last_to_undo,
    why_not_taken_back,
)
from dictation.visit.facts import FindingSet
from dictation.visit.inputs import (
    Choice,
    Deed,
    EntryTakenBack,
    ExamAdded,
    ExamApproved,
    ExamsMerged,
    ExamSplit,
    FindingChanged,
    FindingWithdrawn,
    PhraseInserted,
    PhraseMoved,
    PhrasePutRight,
    QueryAnswered,
    TagChanged,
)
from dictation.visit.parts import TYPED_IN_FROM
from dictation.visit.state import Visit
from grammar.exam import Exam, FindingState
from grammar.findings import Finding, Ovary
from grammar.wording import written
from tests.decide.spoken import ON, Chatter, Phrase, Unsure, standing, visit_of

SPOKEN: tuple[Phrase, ...] = (
    "cow eight three seven",
    "left ovary CL twenty-two, follicle nine",
    Unsure("pregnant forty days", ("pregnant fifty days",)),
    "next cow four one two",
    "open",
    Chatter("shut that gate"),
    "right ovary follicle sixteen",
)
"""Events 2 to 8 of a visit: one opens it."""


def rephrased(phrase: int, text: str) -> PhrasePutRight:
    return PhrasePutRight(phrase, text, findings_typed(text, ON))


def inserted(exam: int, text: str, of: int | None = None) -> PhraseInserted:
    return PhraseInserted(exam, text, findings_typed(text, ON), of)


def ovary(text: str) -> Finding:
    what = findings_typed(text, ON)[0].what
    assert isinstance(what, Ovary)
    return what


def content(visit: Visit) -> object:
    """All that a visit says, without the record of who did what."""
    exams = tuple((e.number, e.tag, e.standing, e.open_queries, e.approved) for e in visit.exams)
    queries = tuple((q.id, q.state, q.exam) for q in visit.queries)
    phrases = tuple((p.number, p.exam) for p in visit.phrases if not p.taken_back)
    return exams, queries, phrases, visit.visit_approved, visit.in_hand


DEEDS: dict[str, Deed] = {
    "corrected": FindingChanged(2, ovary("l ov cl 22"), ovary("l ov cl 24")),
    "withdrawn": FindingWithdrawn(3),
    "alternative taken": QueryAnswered("u3", Choice.TAKE, 2),
    "none of them": QueryAnswered("u3", Choice.NONE_OF_THEM),
    "rephrased": rephrased(2, "l ov cl 24"),
    "rephrased with more": rephrased(2, "l ov cl 22, f 9, cy 30"),
    "tag rephrased": rephrased(4, "c 417"),
    "inserted": inserted(1, "tw"),
    "taken up": inserted(2, "lov ns", 6),
    "moved": PhraseMoved(3, 2),
    "merged": ExamsMerged(2, 1),
    "split": ExamSplit(1, 2),
    "renumbered": TagChanged(1, "900"),
    "exam added": ExamAdded(1, "555"),
    "exam approved": ExamApproved(2),
    "visit approved": ExamApproved(None),
}


@pytest.mark.parametrize("deed", DEEDS)
def test_what_a_person_did_can_be_taken_back_whole(deed: str) -> None:
    before = visit_of(*SPOKEN)
    after = visit_of(*SPOKEN, DEEDS[deed])
    assert content(after) != content(before)
    last = last_to_undo(after)
    assert last is not None
    back = visit_of(*SPOKEN, DEEDS[deed], EntryTakenBack(last.seq))
    assert content(back) == content(before)
    assert is_taken_back(back, last.seq)
    assert not is_taken_back(back, last.seq + 1)


@pytest.mark.parametrize("seed", range(12))
def test_any_deeds_are_taken_back_one_after_the_other(seed: int) -> None:
    rng = random.Random(seed)
    deeds = rng.sample(sorted(DEEDS), 5)
    done: list[Phrase] = [*SPOKEN, *(DEEDS[name] for name in deeds)]
    for _ in deeds:
        last = last_to_undo(visit_of(*done))
        if last is not None:
            done.append(EntryTakenBack(last.seq))
    visit = visit_of(*done)
    assert not visit.approvals
    assert content(visit) == content(visit_of(*SPOKEN))


@pytest.mark.parametrize("deed", DEEDS)
def test_what_was_taken_back_is_done_again_by_taking_that_back(deed: str) -> None:
    after = visit_of(*SPOKEN, DEEDS[deed])
    last = last_to_undo(after)
    assert last is not None
    undone = (*SPOKEN, DEEDS[deed], EntryTakenBack(last.seq))
    redo = last_to_redo(visit_of(*undone))
    assert redo is not None
    again = visit_of(*undone, EntryTakenBack(redo.seq))
    assert content(again) == content(after)
    assert last_to_redo(again) is None
    assert last_to_undo(again) == again.acts[last.seq]


def test_what_was_changed_again_is_not_undone_beneath_it() -> None:
    first, second = rephrased(2, "l ov cl 24"), rephrased(2, "l ov cl 26")
    visit = visit_of(*SPOKEN, first, second)
    refused = why_not_taken_back(visit, 9)
    assert refused is not None
    assert "changed again" in refused
    again = visit_of(*SPOKEN, first, second, EntryTakenBack(9))
    assert content(again) == content(visit)


def test_speech_after_a_correction_keeps_its_meaning_when_that_is_undone() -> None:
    answered = QueryAnswered("u3", Choice.TAKE, 1)
    spoken = (*SPOKEN[:3], answered, Unsure("left ovary CL forty five"), "yes")
    back = visit_of(*spoken, EntryTakenBack(5))
    assert [q.id for q in back.open_queries] == ["u3"]
    last = back.exams[0].recorded[-1]
    assert last.state is FindingState.ACCEPTED


def exam_of(visit: Visit, number: int) -> Exam:
    exam = visit.exam(number)
    assert exam is not None
    return exam


def test_a_phrase_put_right_keeps_the_number_of_each_finding_and_says_what_changed() -> None:
    visit = visit_of(*SPOKEN, rephrased(2, "l ov cl 24, follicle nine"))
    found = {r.number: r for r in exam_of(visit, 1).standing}
    assert found[2].state is FindingState.CORRECTED
    assert found[3].state is FindingState.ACCEPTED
    act = visit.acts[visit.last_seq]
    (change,) = (fact for fact in act.facts if isinstance(fact, FindingSet))
    assert (change.number, act.who) == (2, "anna")
    assert change.was is not None
    assert change.now is not None
    assert change.was.recorded.finding == ovary("left ovary cl twenty two")
    assert change.now.recorded.finding == ovary("l ov cl 24")


def test_a_phrase_put_right_settles_what_it_asked() -> None:
    visit = visit_of(*SPOKEN, rephrased(3, "p 40 d"))
    assert not visit.open_queries
    assert exam_of(visit, 1).standing[-1].state is FindingState.CORRECTED


def test_refused_speech_that_is_taken_up_keeps_its_place_in_the_sound() -> None:
    visit = visit_of(*SPOKEN, inserted(2, "lov ns", 6))
    added = exam_of(visit, 2).standing[-1]
    assert (added.at_s, added.until_s) == (60.0, 62.0)


def test_a_missed_animal_comes_behind_the_one_before_it() -> None:
    visit = visit_of(*SPOKEN, ExamAdded(1, "555"), "left ovary CL twenty")
    assert [exam.tag for exam in visit.exams] == ["837", "555", "412"]
    assert standing(visit.exam_in_hand)[-1] == "left ovary cl twenty"


@pytest.mark.parametrize(
    "later", ["left ovary CL twenty", FindingWithdrawn(7), TagChanged(2, "413")]
)
def test_an_approval_falls_when_the_exam_changes(later: Phrase) -> None:
    assert visit_of(*SPOKEN, ExamApproved(2)).is_approved(2)
    assert not visit_of(*SPOKEN, ExamApproved(2), later).is_approved(2)
    assert not visit_of(*SPOKEN, ExamApproved(None), later).visit_approved


def test_an_approval_of_one_animal_stands_while_another_changes() -> None:
    assert visit_of(*SPOKEN, ExamApproved(1), "left ovary CL twenty").is_approved(1)


def test_a_typed_phrase_can_be_put_right_moved_and_withdrawn_too() -> None:
    typed = inserted(1, "tw")
    number = TYPED_IN_FROM + len(SPOKEN) + 2
    right = visit_of(*SPOKEN, typed, rephrased(number, "sg"))
    assert written(exam_of(right, 1).findings[-1]) == "single"
    moved = visit_of(*SPOKEN, typed, PhraseMoved(number, 2))
    assert written(exam_of(moved, 2).findings[-1]) == "twins"
    gone = visit_of(*SPOKEN, typed, PhrasePutRight(number, "", ()))
    assert exam_of(gone, 1).recorded[-1].state is FindingState.WITHDRAWN
