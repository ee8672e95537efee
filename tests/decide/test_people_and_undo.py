"""A phrase put right, a missed animal, and taking back what a person did."""

from __future__ import annotations

import random

import pytest

from dictation.decide.typed_phrase import findings_typed
from dictation.session.deeds import last_to_undo, why_not_undone
from dictation.session.events import (
    Approved,
    Choice,
    Corrected,
    Event,
    Inserted,
    Merged,
    PhraseMoved,
    QueryAnswered,
    Renumbered,
    Split,
    Withdrawn,
)
from dictation.session.fold import fold, step
from dictation.session.review_events import ExamAdded, Rephrased, Undone
from dictation.session.visit import Visit
from grammar.exam import Exam, FindingState
from grammar.findings import Finding, Ovary
from grammar.wording import written
from tests.decide.spoken import ON, Chatter, Phrase, Unsure, entries_of, standing, visit_of

SPOKEN: tuple[Phrase, ...] = (
    "cow eight three seven",
    "left ovary CL twenty-two, follicle nine",
    Unsure("pregnant forty days", ("pregnant fourteen days",)),
    "next cow four one two",
    "open",
    Chatter("shut that gate"),
    "right ovary follicle sixteen",
)
"""Events 2 to 8 of a visit: one opens it."""


def rephrased(utterance: int, text: str) -> Rephrased:
    return Rephrased(utterance, text, findings_typed(text, ON), "anna", "heard wrongly")


def inserted(exam: int, text: str, of: int | None = None) -> Inserted:
    return Inserted(exam, text, findings_typed(text, ON), "anna", of_utterance=of)


def ovary(text: str) -> Finding:
    what = findings_typed(text, ON)[0].what
    assert isinstance(what, Ovary)
    return what


def content(visit: Visit) -> object:
    """All that a visit says, without the record of who did what."""
    exams = tuple((e.number, e.tag, e.recorded, e.open_queries) for e in visit.exams)
    queries = tuple((q.id, q.state, q.exam) for q in visit.queries)
    utterances = tuple((u.number, u.exam) for u in visit.utterances)
    return exams, queries, utterances, visit.approved, visit.visit_approved, visit.in_hand


DEEDS: dict[str, Event] = {
    "corrected": Corrected(
        201,
        ovary("l ov cl 22"),
        ovary("l ov cl 24"),
        "anna",
    ),
    "withdrawn": Withdrawn(202, "anna"),
    "alternative taken": QueryAnswered("u3", Choice.TAKE, 2, "anna"),
    "none of them": QueryAnswered("u3", Choice.NONE_OF_THEM, None, "anna"),
    "rephrased": rephrased(2, "l ov cl 24"),
    "rephrased with more": rephrased(2, "l ov cl 22, f 9, cy 30"),
    "tag rephrased": rephrased(4, "c 417"),
    "inserted": inserted(1, "tw"),
    "taken up": inserted(2, "lov ns", 6),
    "moved": PhraseMoved(3, 2, "anna"),
    "merged": Merged(2, 1, "anna"),
    "split": Split(1, 2, "anna"),
    "renumbered": Renumbered(1, "900", "anna"),
    "exam added": ExamAdded(1, "555", "anna"),
    "exam approved": Approved(2, "anna"),
    "visit approved": Approved(None, "anna"),
}


@pytest.mark.parametrize("deed", DEEDS)
def test_what_a_person_did_can_be_taken_back_whole(deed: str) -> None:
    before = visit_of(*SPOKEN)
    after = visit_of(*SPOKEN, DEEDS[deed])
    assert content(after) != content(before)
    last = last_to_undo(after)
    assert last is not None
    back = visit_of(*SPOKEN, DEEDS[deed], Undone(last.seq, "ben"))
    assert content(back) == content(before)
    assert [d.undone for d in back.deeds] == [True, False]


@pytest.mark.parametrize("seed", range(12))
def test_any_deeds_are_taken_back_one_after_the_other(seed: int) -> None:
    rng = random.Random(seed)
    deeds = rng.sample(sorted(DEEDS), 5)
    visit = visit_of(*SPOKEN, *(DEEDS[name] for name in deeds))
    entries = entries_of(*SPOKEN, *(DEEDS[name] for name in deeds))
    while (last := last_to_undo(visit)) is not None:
        entries = [*entries, type(entries[0])(len(entries) + 1, "", Undone(last.seq, "ben"))]
        visit = step(visit, entries[-1])
    approvals = (visit.approved, visit.visit_approved)
    assert approvals == ((), False)
    assert content(visit)[0:3] == content(visit_of(*SPOKEN))[0:3]  # type: ignore[index]
    assert content(fold(entries)) == content(visit)


def test_what_was_changed_again_is_not_undone_beneath_it() -> None:
    first, second = rephrased(2, "l ov cl 24"), rephrased(2, "l ov cl 26")
    visit = visit_of(*SPOKEN, first, second)
    refused = why_not_undone(visit, 9)
    assert refused is not None
    assert "changed again" in refused
    again = visit_of(*SPOKEN, first, second, Undone(9, "ben"))
    assert content(again) == content(visit)


def test_speech_after_a_correction_keeps_its_meaning_when_that_is_undone() -> None:
    answered = QueryAnswered("u3", Choice.TAKE, 1, "anna")
    spoken = (*SPOKEN[:3], answered, Unsure("left ovary CL forty five"), "yes")
    back = visit_of(*spoken, Undone(5, "ben"))
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
    assert found[201].state is FindingState.CORRECTED
    assert found[202].state is FindingState.ACCEPTED
    change = visit.changes[-1]
    assert (change.finding, change.who, change.why) == (201, "anna", "heard wrongly")
    assert change.was == ovary("left ovary cl twenty two")
    assert change.now == ovary("l ov cl 24")


def test_a_phrase_put_right_settles_what_it_asked() -> None:
    visit = visit_of(*SPOKEN, rephrased(3, "p 40 d"))
    assert not visit.open_queries
    assert exam_of(visit, 1).standing[-1].state is FindingState.CORRECTED


def test_refused_speech_that_is_taken_up_keeps_its_place_in_the_sound() -> None:
    visit = visit_of(*SPOKEN, inserted(2, "lov ns", 6))
    added = exam_of(visit, 2).standing[-1]
    assert (added.at_s, added.until_s) == (60.0, 62.0)


def test_a_missed_animal_comes_behind_the_one_before_it() -> None:
    visit = visit_of(*SPOKEN, ExamAdded(1, "555", "anna"), "left ovary CL twenty")
    assert [exam.tag for exam in visit.exams] == ["837", "555", "412"]
    assert standing(visit.exam_in_hand)[-1] == "left ovary cl twenty"


@pytest.mark.parametrize(
    "later", ["left ovary CL twenty", Withdrawn(701, "ben"), Renumbered(2, "413", "ben")]
)
def test_an_approval_falls_when_the_exam_changes(later: Phrase) -> None:
    assert visit_of(*SPOKEN, Approved(2, "anna")).approved == (2,)
    assert visit_of(*SPOKEN, Approved(2, "anna"), later).approved == ()
    assert not visit_of(*SPOKEN, Approved(None, "anna"), later).visit_approved


def test_an_approval_of_one_animal_stands_while_another_changes() -> None:
    assert visit_of(*SPOKEN, Approved(1, "anna"), "left ovary CL twenty").approved == (1,)


def test_a_typed_phrase_can_be_put_right_moved_and_withdrawn_too() -> None:
    typed = inserted(1, "tw")
    number = 1_000_000 + len(SPOKEN) + 2
    right = visit_of(*SPOKEN, typed, rephrased(number, "sg"))
    assert written(exam_of(right, 1).findings[-1]) == "single"
    moved = visit_of(*SPOKEN, typed, PhraseMoved(number, 2, "anna"))
    assert written(exam_of(moved, 2).findings[-1]) == "twins"
    gone = visit_of(*SPOKEN, typed, Rephrased(number, "", (), "anna"))
    assert content(gone)[0][0][2][-1].state is FindingState.WITHDRAWN  # type: ignore[index]
