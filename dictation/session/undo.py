"""'Scratch that' takes back one whole utterance, with everything it did, and only that."""

from __future__ import annotations

from dataclasses import replace

from dictation.session.asking import ask, lapse, settle
from dictation.session.breath import standing_of
from dictation.session.effects import Alternative, Keep, TakeBack
from dictation.session.events import FINDINGS_AN_UTTERANCE
from dictation.session.exams import (
    drop_exam,
    move_findings,
    put_exam,
    put_finding,
    requery,
    set_state,
)
from dictation.session.visit import QueryState, Utterance, Visit
from grammar.exam import FindingState
from grammar.wording import written


def scratch(visit: Visit, asking_utterance: int) -> Visit:
    """Take back the last utterance of the exam in hand that did anything.

    Where this animal has none, nothing is done: reaching into the animal before is asked about
    first, because 'scratch that' is more often said once too often than meant for her.
    """
    done = [u for u in visit.utterances if u.can_be_taken_back and u.number != asking_utterance]
    here = [u for u in done if u.exam == visit.in_hand and visit.in_hand is not None]
    if here:
        return take_back(visit, here[-1].number)
    before = done[-1] if done else None
    if before is None:
        return replace(visit, reply="There is nothing to take back.")
    exam = visit.exam(before.exam)
    whose = f"tag {exam.tag}" if exam is not None and exam.tag else "the animal before"
    question = f"Take back '{before.text}' of {whose}?"
    taking = Alternative(question[:-1], TakeBack(before.number))
    return ask(visit, asking_utterance, question, "nothing was said of this animal yet", (taking,))


def last_that_did(visit: Visit, exam: int | None) -> Utterance | None:
    """The last utterance of an exam that can be taken back."""
    if exam is None:
        return None
    return next(
        (u for u in reversed(visit.utterances) if u.exam == exam and u.can_be_taken_back), None
    )


def take_back(visit: Visit, number: int) -> Visit:
    """Undo an utterance. What it made is kept as withdrawn; what it changed is as it was before."""
    utterance = visit.utterance(number)
    if utterance is None or utterance.taken_back:
        return visit
    visit = withdraw_findings(visit, utterance)
    visit = lapse(visit, number)
    for query_id in utterance.answered:
        query = visit.query(query_id)
        if query is not None:
            visit = settle(visit, query, QueryState.OPEN)
    visit = _back_to_closed_exam(visit, utterance)
    if not utterance.answered:
        visit = _ask_about_restored(visit, utterance)
    utterances = tuple(
        replace(u, taken_back=True) if u.number == number else u for u in visit.utterances
    )
    visit = replace(visit, utterances=utterances)
    if visit.reply:
        return visit
    return replace(visit, reply=f"Taken back: {utterance.text}.")


def _ask_about_restored(visit: Visit, utterance: Utterance) -> Visit:
    """A value that was once called wrong must not just stand again: it is asked about."""
    for touch in utterance.touched:
        restored = visit.recorded(touch.number)
        if touch.before is None or restored != touch.before:
            continue
        if touch.before.finding == touch.after.finding:
            continue
        visit = put_finding(visit, replace(restored, state=FindingState.QUERIED))
        words = written(restored.finding)
        question = f"{words[:1].upper()}{words[1:]} again?"
        made_by = base_of(touch.number)
        why = f"'{utterance.text}' was taken back"
        visit = ask(visit, made_by, question, why, (Alternative(words, Keep()),))
    return visit


def withdraw_findings(visit: Visit, utterance: Utterance) -> Visit:
    """Withdraw what an utterance made and restore what it changed, unless changed again since."""
    for touch in reversed(utterance.touched):
        if touch.before is not None and visit.recorded(touch.number) == touch.after:
            visit = put_finding(visit, touch.before)
        elif touch.before is None:
            visit = set_state(visit, touch.number, FindingState.WITHDRAWN)
    for recorded in standing_of(visit, utterance.number):
        visit = set_state(visit, recorded.number, FindingState.WITHDRAWN)
    return visit


def join(visit: Visit, exam: int, into: int) -> Visit:
    """Two exams become one: all of ``exam`` goes to ``into``, and the empty one is dropped."""
    source, target = visit.exam(exam), visit.exam(into)
    if source is None or target is None or exam == into:
        return visit
    visit = move_findings(visit, frozenset(r.number for r in source.recorded), into)
    visit = requery(visit, exam, into)
    utterances = tuple(replace(u, exam=into) if u.exam == exam else u for u in visit.utterances)
    visit = replace(visit, utterances=utterances)
    if visit.in_hand == exam:
        reopened = visit.exam(into)
        if reopened is not None:
            visit = put_exam(visit, replace(reopened, closed=False))
        visit = replace(visit, in_hand=into)
    return drop_exam(visit, exam)


def _back_to_closed_exam(visit: Visit, utterance: Utterance) -> Visit:
    """A tag that opened the next exam by itself is taken back: the exam before is in hand again."""
    if not utterance.implied_next or utterance.opened is None or utterance.closed is None:
        return visit
    opened = visit.exam(utterance.opened)
    if opened is None or visit.in_hand != opened.number or opened.standing:
        return visit
    waiting = any(q.exam == opened.number for q in visit.open_queries)
    return visit if waiting else join(visit, opened.number, utterance.closed)


def base_of(finding: int) -> int:
    """The utterance that made a finding."""
    return finding // FINDINGS_AN_UTTERANCE
