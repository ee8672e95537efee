"""Open questions of a visit as they leave it: each choice as what would stand of the exam's rows.

A choice that does more than that (another animal, an earlier phrase taken back) cannot be told in
rows; of such a question only the words are given.
"""

from __future__ import annotations

from dictation.decide.draft import standing_of
from dictation.decide.taking_back import act_of
from dictation.visit.effects import (
    Alternative,
    Drop,
    Effect,
    Instead,
    JoinBack,
    Keep,
    SetTo,
    TakeBack,
)
from dictation.visit.facts import ExamClosed, ExamSet, Fact, FindingSet, QuerySet, TakenBack
from dictation.visit.inputs import Asked
from dictation.visit.parts import Query
from dictation.visit.state import Visit
from grammar.exam import Exam, FindingState, RecordedFinding
from grammar.findings import Animal, Command, Said


def asked_of(visit: Visit, query: Query) -> Asked | None:
    """The question with findings named by their place in the exam, from 1; None where it cannot."""
    exam = visit.exam(query.exam)
    if exam is None or _did_more(visit, query):
        return None
    effects = [_in_rows(visit, query, exam, each.effect) for each in query.alternatives]
    no = _in_rows(visit, query, exam, Drop() if query.no is None else query.no)
    told = [effect for effect in effects if effect is not None]
    if no is None or len(told) != len(effects):
        return None
    worded = zip(query.alternatives, told, strict=True)
    alternatives = tuple(Alternative(each.words, effect) for each, effect in worded)
    return Asked(query.question, query.why, alternatives, no)


def _facts_of(visit: Visit, query: Query) -> tuple[Fact, ...]:
    """What the phrase did that raised the query; nothing where it came out of a file."""
    act = act_of(visit, query.phrase)
    return () if act is None else act.facts


def _did_more(visit: Visit, query: Query) -> bool:
    """Whether the phrase did more than record: taking it back then touches other things too."""
    return any(_is_more(fact, query.phrase) for fact in _facts_of(visit, query))


def _is_more(fact: Fact, phrase: int) -> bool:
    """Another exam by itself, an earlier finding or question changed, an entry taken back."""
    match fact:
        case ExamSet():
            return fact.now is not None and fact.now.implied
        case FindingSet():
            return fact.was is not None and fact.was.recorded.phrase != phrase
        case QuerySet():
            return fact.was is not None and fact.was.phrase != phrase
        case _:
            return isinstance(fact, TakenBack)


def _left_another(visit: Visit, query: Query) -> bool:
    """Whether the phrase closed the animal before: what was meant instead may belong to her."""
    return any(isinstance(fact, ExamClosed) and fact.now for fact in _facts_of(visit, query))


def _in_rows(visit: Visit, query: Query, exam: Exam, effect: Effect) -> SetTo | None:
    mine = standing_of(visit, query.phrase)
    match effect:
        case Keep():
            kept = [(r.number, r.finding) for r in mine if r.state is FindingState.QUERIED]
            found = SetTo(tuple(kept))
        case Drop():
            found = SetTo((), tuple(r.number for r in mine))
        case Instead():
            instead = _instead(mine, effect.said)
            if instead is None or _left_another(visit, query):
                return None
            found = instead
        case SetTo():
            found = effect
        case TakeBack() | JoinBack():
            return None
    places = {r.number: place for place, r in enumerate(exam.recorded, start=1)}
    if not {*(n for n, _ in found.changes), *found.withdraw} <= set(places):
        return None
    changes = tuple((places[number], finding) for number, finding in found.changes)
    return SetTo(changes, tuple(places[number] for number in found.withdraw))


def _instead(mine: tuple[RecordedFinding, ...], said: tuple[Said, ...]) -> SetTo | None:
    """Other findings in the place of those recorded, as long as there are not more of them."""
    whats = [each.what for each in said]
    if len(whats) > len(mine) or any(isinstance(r.finding, Animal) for r in mine):
        return None
    changes = []
    for recorded, what in zip(mine, whats, strict=False):
        if isinstance(what, Command | Animal):
            return None
        changes.append((recorded.number, what))
    return SetTo(tuple(changes), tuple(r.number for r in mine[len(whats) :]))
