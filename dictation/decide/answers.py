"""Answers to queries, and what each does."""

from __future__ import annotations

from collections.abc import Callable

from dictation.decide.draft import Breath, Draft, standing_of
from dictation.decide.tags import leaves
from dictation.decide.taking_back import lapse_and_withdraw, take_back, touched_by
from dictation.decide.waiting import as_tag, of_hers, settled_as
from dictation.visit.facts import ExamClosed, ExamSet
from dictation.visit.parts import (
    Drop,
    Effect,
    Instead,
    JoinBack,
    Keep,
    Query,
    QueryState,
    SetTo,
    TakeBack,
)
from grammar.exam import FindingState
from grammar.findings import Animal, AnswerWord, Command, CommandName, Said
from grammar.wording import how_to_answer

Perform = Callable[[Draft, Breath, tuple[Said, ...]], None]
"""How what is said is performed; given by ``spoken``, which imports this module."""


def spoken_answer(draft: Draft, breath: Breath, command: Command, perform: Perform) -> None:
    """'Yes', 'no', 'second one' or 'leave it' to the question that is live."""
    query = draft.visit.asked
    if query is None:
        draft.reply("Nothing is asked.")
    elif command.answer is AnswerWord.LEAVE:
        draft.settle(query, QueryState.OPEN, breath.phrase.text)
        draft.reply("Left for the recorder.")
    elif command.answer is AnswerWord.NO:
        answer(draft, query, None, breath.phrase.text, perform)
    elif not query.alternatives:
        draft.reply(f"This needs more than yes or no: {query.question}")
    else:
        choice = _choice(command, query)
        if choice is None:
            how = how_to_answer(len(query.alternatives))
            draft.reply(f"{query.question} Please {how}.")
        else:
            answer(draft, query, choice, breath.phrase.text, perform)


def answer(draft: Draft, query: Query, choice: int | None, words: str, perform: Perform) -> None:
    """Close a query by taking alternative ``choice`` (from 1), or none of them."""
    draft.settle(query, QueryState.ANSWERED, words)
    if choice is not None:
        _take(draft, query, query.alternatives[choice - 1].effect, perform)
    elif query.no is not None:
        _take(draft, query, query.no, perform)
    else:
        _drop_what_was_asked(draft, query.phrase)


def _take(draft: Draft, query: Query, effect: Effect, perform: Perform) -> None:
    match effect:
        case Keep():
            standing = standing_of(draft.visit, query.phrase)
            for queried in (r for r in standing if r.state is FindingState.QUERIED):
                draft.set_state(queried.number, FindingState.ACCEPTED)
        case Drop():
            _drop(draft, query.phrase)
        case SetTo():
            for number in effect.withdraw:
                draft.set_state(number, FindingState.WITHDRAWN)
            for number, finding in effect.changes:
                draft.set_value(number, finding)
        case TakeBack():
            _drop(draft, effect.phrase)
        case JoinBack():
            lapse_and_withdraw(draft, query.phrase)
            draft.join(effect.exam, effect.into)
        case Instead():
            _instead(draft, query, effect.said, perform)


def _choice(command: Command, query: Query) -> int | None:
    if command.answer is AnswerWord.YES:
        return 1 if len(query.alternatives) == 1 else None
    if command.number is None or not float(command.number).is_integer():
        return None
    number = int(command.number)
    return number if 1 <= number <= len(query.alternatives) else None


def _drop_what_was_asked(draft: Draft, phrase: int) -> None:
    """'No' to a phrase of which something was never asked about, or is settled: that stays."""
    visit = draft.visit
    act = visit.act_of(phrase)
    touched = (visit.recorded(number) for number in (() if act is None else touched_by(act)))
    states = {r.state for r in touched if r is not None} - {FindingState.WITHDRAWN}
    if not states - {FindingState.QUERIED}:
        _drop(draft, phrase)
        return
    for recorded in standing_of(visit, phrase):
        if recorded.state is FindingState.QUERIED:
            draft.set_state(recorded.number, FindingState.WITHDRAWN)


def _drop(draft: Draft, phrase: int) -> None:
    act = draft.visit.act_of(phrase)
    if act is not None:  # what an earlier answer put in its place goes too
        take_back(draft, act.seq, ask_again=True)
    lapse_and_withdraw(draft, phrase)
    on_record = draft.visit.phrase(phrase)
    if act is not None and on_record is not None:
        draft.reply(f"Taken back: {on_record.text}.")


def _instead(draft: Draft, query: Query, said: tuple[Said, ...], perform: Perform) -> None:
    """Withdraw what was recorded, and perform what was meant, in the exam it belongs to."""
    phrase = draft.visit.phrase(query.phrase)
    if phrase is None:
        return
    lapse_and_withdraw(draft, phrase.number)
    # A number that was said alone is a tag now.
    said, exam = _opened_rightly(draft, query, tuple(map(as_tag, said)))
    breath = Breath(phrase)
    visit = draft.visit
    if exam == visit.in_hand or visit.exam(exam) is None:
        perform(draft, breath, said)
        return
    # Answered later, when another animal is in hand: only the findings go to their own exam.
    in_hand, closed = visit.in_hand, visit.closed
    findings = tuple(each for each in said if not isinstance(each.what, Command))
    its_own = visit.exam(exam)
    assert its_own is not None
    draft.go("in_hand", exam)
    perform(draft, breath, said if leaves(visit, its_own, said) else findings)
    if draft.visit.in_hand != exam:
        draft.close_exam()
    draft.go("in_hand", in_hand)
    draft.go("closed", closed)


def _opened_rightly(
    draft: Draft, query: Query, said: tuple[Said, ...]
) -> tuple[tuple[Said, ...], int | None]:
    """What is said, and for which exam. Where the phrase opened an exam and what was meant opens
    none, the two are joined."""
    if query.former is not None and draft.visit.exam(query.exam) is not None:
        return settled_as(draft, query, said)
    act = draft.visit.act_of(query.phrase)
    opened = [] if act is None else [f.number for f in act.of(ExamSet) if f.was is None]
    if act is None or not opened:
        return said, query.exam
    closed = [f.exam for f in act.of(ExamClosed) if f.now]
    if any(_names_animal(s.what) for s in said):
        return of_hers(said), opened[-1]
    if not closed:
        return said, opened[-1]
    draft.join(opened[-1], closed[-1])
    return said, closed[-1]


def _names_animal(what: object) -> bool:
    if isinstance(what, Command):
        return what.name is CommandName.NEXT_ANIMAL
    return isinstance(what, Animal) and (what.tag is not None or what.electronic_id is not None)
