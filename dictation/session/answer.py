"""Answers to queries, and what each does."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from dictation.session.asking import lapse, settle
from dictation.session.breath import Breath, standing_of
from dictation.session.effects import Drop, Effect, Instead, JoinBack, Keep, SetTo, TakeBack
from dictation.session.exams import set_state, set_value
from dictation.session.undo import join, take_back, withdraw_findings
from dictation.session.visit import Fate, Query, QueryState, Utterance, Visit
from grammar.exam import FindingState
from grammar.findings import Animal, AnswerWord, Command, CommandName, Said
from grammar.wording import how_to_answer

PASSED_OVER = (Fate.REFUSED, Fate.SILENT, Fate.JOINED)
"""What lies between a question and its answer without being one."""

Perform = Callable[[Visit, Breath, tuple[Said, ...]], Visit]
"""How what is said is performed; given by ``perform``, which imports this module."""


def spoken_answer(visit: Visit, breath: Breath, command: Command, perform: Perform) -> Visit:
    """'Yes', 'no' or 'choice two' to the oldest open query of the animal in hand."""
    query = visit.asked
    if query is None:
        return replace(visit, reply="Nothing is asked.")
    if command.answer is AnswerWord.NO:
        return decide(visit, query, None, breath.text, perform)
    if not query.alternatives:
        return replace(visit, reply=f"This needs more than yes or no: {query.question}")
    choice = _choice(command, query)
    if choice is None:
        how = how_to_answer(len(query.alternatives))
        return replace(visit, reply=f"{query.question} Please {how}.")
    return decide(visit, query, choice, breath.text, perform)


def decide(visit: Visit, query: Query, choice: int | None, answer: str, perform: Perform) -> Visit:
    """Close a query by taking alternative ``choice`` (from 1), or none of them."""
    if choice is None:
        effect: Effect = query.no if query.no is not None else Drop()
        visit = settle(visit, query, QueryState.ANSWERED, answer)
    else:
        effect = query.alternatives[choice - 1].effect
        visit = settle(visit, query, QueryState.ANSWERED, answer)
    return _take(visit, query, effect, perform)


def said_again(visit: Visit, said: tuple[Said, ...]) -> int | None:
    """Which alternative of the query just raised these words repeat, counted from 1.

    Only the very next utterance counts, and only where it says exactly what was offered: people
    answer "forty or fourteen?" by saying the whole phrase again.
    """
    query = visit.asked
    spoken = (u for u in reversed(visit.utterances) if u.fate not in PASSED_OVER)
    last = next(spoken, None)
    if query is None or last is None or last.number != query.utterance:
        return None
    whats = tuple(each.what for each in said)
    for number, alternative in enumerate(query.alternatives, start=1):
        effect = alternative.effect
        if isinstance(effect, Keep):
            recorded = tuple(r.finding for r in standing_of(visit, query.utterance))
            if recorded == whats:
                return number
        if isinstance(effect, Instead) and tuple(s.what for s in effect.said) == whats:
            return number
    return None


def _choice(command: Command, query: Query) -> int | None:
    if command.answer is AnswerWord.YES:
        return 1 if len(query.alternatives) == 1 else None
    if command.number is None or not float(command.number).is_integer():
        return None
    number = int(command.number)
    return number if 1 <= number <= len(query.alternatives) else None


def _take(visit: Visit, query: Query, effect: Effect, perform: Perform) -> Visit:
    match effect:
        case Keep():
            return _accept(visit, query.utterance)
        case Drop():
            return take_back(visit, query.utterance)
        case SetTo():
            return _set_to(visit, effect)
        case TakeBack():
            return take_back(visit, effect.utterance)
        case JoinBack():
            return join(visit, effect.exam, effect.into)
        case Instead():
            return _instead(visit, query, effect.said, perform)


def _accept(visit: Visit, utterance: int) -> Visit:
    for recorded in standing_of(visit, utterance):
        if recorded.state is FindingState.QUERIED:
            visit = set_state(visit, recorded.number, FindingState.ACCEPTED)
    return visit


def _set_to(visit: Visit, effect: SetTo) -> Visit:
    for number in effect.withdraw:
        visit = set_state(visit, number, FindingState.WITHDRAWN)
    for number, finding in effect.changes:
        visit = set_value(visit, number, finding)
    return visit


def _instead(visit: Visit, query: Query, said: tuple[Said, ...], perform: Perform) -> Visit:
    """Withdraw what was recorded, and perform what was meant, in the exam it belongs to."""
    utterance = visit.utterance(query.utterance)
    if utterance is None:
        return visit
    visit = withdraw_findings(visit, utterance)
    visit = lapse(visit, utterance.number)
    exam = query.exam
    if utterance.opened is not None:
        visit, said, exam = _opened_rightly(visit, utterance, said)
    breath = Breath(
        utterance.number,
        utterance.text,
        True,
        utterance.at_s,
        utterance.until_s,
        utterance.confidence,
    )
    if exam == visit.in_hand or visit.exam(exam) is None:
        return perform(visit, breath, said)
    # Answered later, when another animal is in hand: only the findings go to their own exam.
    in_hand, closed = visit.in_hand, visit.closed
    findings = tuple(each for each in said if not isinstance(each.what, Command))
    visit = perform(replace(visit, in_hand=exam), breath, findings)
    return replace(visit, in_hand=in_hand, closed=closed)


def _opened_rightly(
    visit: Visit, utterance: Utterance, said: tuple[Said, ...]
) -> tuple[Visit, tuple[Said, ...], int | None]:
    """The utterance opened an exam. Where what was meant opens none, the two are joined."""
    names = [s for s in said if _names_animal(s.what)]
    if names:
        return visit, tuple(_as_animal(s) for s in said), utterance.opened
    if utterance.closed is None or utterance.opened is None:
        return visit, said, utterance.opened
    return join(visit, utterance.opened, utterance.closed), said, utterance.closed


def _names_animal(what: object) -> bool:
    if isinstance(what, Command):
        return what.name is CommandName.NEXT_ANIMAL
    return isinstance(what, Animal) and (what.tag is not None or what.electronic_id is not None)


def _as_animal(said: Said) -> Said:
    """'Next animal 842' where the next exam is open already: only its tag is still to be taken."""
    what = said.what
    if isinstance(what, Command) and what.name is CommandName.NEXT_ANIMAL and what.animal:
        return replace(said, what=what.animal)
    return said
