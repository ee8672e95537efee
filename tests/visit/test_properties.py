"""Whatever is said and done, in any order: what must hold of every visit."""

from __future__ import annotations

import os
from dataclasses import replace

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from dictation.decide import decide
from dictation.decide.taking_back import (
    is_taken_back,
    last_to_redo,
    last_to_undo,
    why_not_taken_back,
)
from dictation.visit.apply import DoesNotFollowError, after, apply, fold
from dictation.visit.facts import (
    ExamSet,
    FindingSet,
    Gap,
    HerdListed,
    Listened,
    PhraseSet,
    Spoke,
)
from dictation.visit.inputs import (
    INPUTS,
    PEOPLES,
    By,
    EntryTakenBack,
    PhraseHeard,
    PhraseInserted,
    PhrasesJoined,
    PhraseTyped,
)
from dictation.visit.parts import QueryState
from dictation.visit.state import Visit
from dictation.visit.words import facts_from, facts_text
from grammar.findings import Animal
from tests.decide.spoken import AT
from tests.visit.courses import Course
from tests.visit.picks import courses

LONG = os.environ.get("HORNSWEEP_LONG") == "1"

any_course = settings(
    max_examples=5000 if LONG else 150,
    deadline=None,
    suppress_health_check=list(HealthCheck),
)
CHANGES_NOTHING = (Gap, Listened, Spoke, HerdListed)
"""Facts that may be told twice: nothing is counted by them."""


def content(visit: Visit) -> object:
    """All that a visit says, without the record of who did what."""
    exams = tuple(
        (e.number, e.tag, e.known, e.standing, e.closed, e.open_queries, e.approved)
        for e in visit.exams
    )
    phrases = tuple((p.number, p.exam, p.fate) for p in visit.phrases if not p.taken_back)
    queries = visit.open_queries
    return exams, phrases, queries, visit.approvals, replace(visit.going, reply="")


@any_course
@given(courses())
def test_the_facts_written_and_read_again_give_the_same_visit(course: Course) -> None:
    again = [replace(act, facts=facts_from(facts_text(act.facts))) for act in course.acts]
    assert again == course.acts
    assert fold(again) == course.visit


@any_course
@given(courses(), st.integers(0, 25))
def test_folding_in_two_parts_is_folding_at_once(course: Course, cut: int) -> None:
    done = course.acts
    assert fold(done[cut:], fold(done[:cut])) == course.visit


@any_course
@given(courses())
def test_the_same_input_on_the_same_visit_leads_to_the_same_facts(course: Course) -> None:
    visit = Visit()
    for (given_, by), act in zip(course.given, course.acts, strict=True):
        assert decide(visit, given_, by, AT) == act.facts
        visit = after(visit, replace(act, facts=facts_from(facts_text(act.facts))))


@any_course
@given(courses())
def test_no_fact_counts_twice(course: Course) -> None:
    visit = Visit()
    for act in course.acts:
        for fact in act.facts:
            visit = apply(visit, fact)
            if isinstance(fact, CHANGES_NOTHING):
                assert apply(visit, fact) == visit
            else:
                with pytest.raises(DoesNotFollowError):
                    apply(visit, fact)
        visit = after(visit, replace(act, facts=()))


@any_course
@given(courses(), st.integers(0, 25), st.integers(0, 25))
def test_no_entry_counts_out_of_its_order(course: Course, of: int, then: int) -> None:
    done = course.acts
    visit = course.states[min(then, len(done))]
    act = done[min(of, len(done) - 1)]
    if act.seq != visit.last_seq + 1:
        with pytest.raises(DoesNotFollowError):
            after(visit, act)


@any_course
@given(courses())
def test_no_finding_that_was_recorded_is_lost(course: Course) -> None:
    visit = course.visit
    there = [r.number for exam in visit.exams for r in exam.recorded]
    assert len(set(there)) == len(there)
    gone = set(range(1, visit.given.finding + 1)) - set(there)
    for number in gone:
        # It went with the animal that somebody added and took back, or was heard anew.
        last = [
            (act, fact)
            for act in course.acts
            for fact in act.facts
            if isinstance(fact, FindingSet) and fact.number == number
        ][-1]
        assert last[1].now is None
        assert last[0].kind in {INPUTS[EntryTakenBack], INPUTS[PhrasesJoined]} or any(
            isinstance(fact, ExamSet) and fact.now is None for fact in last[0].facts
        )


@any_course
@given(courses())
def test_every_phrase_is_on_record(course: Course) -> None:
    visit = course.visit
    waiting = {captured.phrase for captured in visit.captured}
    for act, (given_, _) in zip(course.acts, course.given, strict=True):
        match given_:
            case PhraseHeard() | PhraseTyped():
                phrase = visit.phrase(given_.phrase)
                assert phrase is not None
                assert visit.index.entries[given_.phrase] == act.seq
            case PhraseInserted() if act.facts:
                (put, *_) = [f for f in act.facts if isinstance(f, PhraseSet | FindingSet)]
                number = put.number if isinstance(put, PhraseSet) else given_.of_phrase
                assert visit.phrase(number) is not None
            case PhrasesJoined() if act.facts:
                assert given_.into in waiting or visit.phrase(given_.into) is not None
            case _:
                pass
    assert not waiting & set(visit.spoken)


@any_course
@given(courses())
def test_what_is_looked_up_agrees_with_what_is_there(course: Course) -> None:
    visit = course.visit
    numbers = [exam.number for exam in visit.exams]
    assert len(set(numbers)) == len(numbers)
    assert visit.in_hand is None or visit.in_hand in numbers
    for exam in visit.exams:
        alike = tuple(e.number for e in visit.exams if e.tag == exam.tag and e is not exam)
        assert exam.tag_repeated_in == (tuple(sorted(alike)) if exam.tag is not None else ())
        tags = [r.finding.tag for r in exam.standing if isinstance(r.finding, Animal)]
        said = [tag for tag in tags if tag]
        if said:
            assert exam.tag == said[-1]
        asked = visit.open_of(exam.number)
        assert exam.open_queries == tuple(q.question for q in asked)
        assert [r.number for r in exam.recorded] == sorted(r.number for r in exam.recorded)
        for recorded in exam.recorded:
            assert visit.index.places[recorded.number] == exam.number
    for query in visit.queries:
        assert (query in visit.open_queries) is (query.state is QueryState.OPEN)
        if query.state is QueryState.OPEN:
            assert query.exam is None or query.exam in numbers, "nobody would ever see it"
    for phrase in visit.phrases:
        assert phrase.exam is None or phrase.exam <= visit.given.exam, "it may be another's yet"
        made = visit.findings_of(phrase.number)
        assert all(placed.recorded.phrase == phrase.number for placed in made)


@any_course
@given(courses())
def test_undo_and_redo_leave_everything_as_it_was(course: Course) -> None:
    before = course.visit
    last = last_to_undo(before)
    if last is None or why_not_taken_back(before, last.seq) is not None:
        return
    course.undo()
    assert is_taken_back(course.visit, last.seq)
    redo = last_to_redo(course.visit)
    assert redo is not None
    assert why_not_taken_back(course.visit, redo.seq) is None
    course.redo()
    assert content(course.visit) == content(before)
    assert not is_taken_back(course.visit, last.seq)


@any_course
@given(courses())
def test_undo_leaves_everything_as_before_the_deed(course: Course) -> None:
    for act in course.acts:
        before, now = course.states[act.seq - 1], course.states[act.seq]
        if act.kind not in PEOPLES or not act.facts:
            continue
        assert why_not_taken_back(now, act.seq) is None
        aside = Course()
        aside.visit = now
        aside.take(EntryTakenBack(act.seq), By("anna"))
        assert content(aside.visit) == content(before)


@any_course
@given(courses(), st.integers(1, 6))
def test_everything_done_can_be_undone_in_turn_and_done_again(course: Course, times: int) -> None:
    undone: list[object] = []
    for _ in range(times):
        last = last_to_undo(course.visit)
        if last is None or why_not_taken_back(course.visit, last.seq) is not None:
            break
        undone.append(content(course.visit))
        course.undo()
    for was in reversed(undone):
        assert course.redo() is not None
        assert content(course.visit) == was


@any_course
@given(courses(), st.integers(0, 25))
def test_any_entry_taken_back_and_done_again_leaves_everything_as_it_was(
    course: Course, of: int
) -> None:
    before = course.visit
    seq = of % before.last_seq + 1
    if why_not_taken_back(before, seq) is not None:
        return
    back = course.take(EntryTakenBack(seq), By("anna"))
    assert is_taken_back(course.visit, seq)
    assert why_not_taken_back(course.visit, back.seq) is None
    course.take(EntryTakenBack(back.seq), By("anna"))
    assert not is_taken_back(course.visit, seq)
    assert content(course.visit) == content(before)
