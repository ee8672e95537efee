"""Open questions of a visit as they leave it: each choice as what would stand of the exam's rows.

A choice that does more than that (another animal, an earlier phrase taken back) cannot be told in
rows; of such a question only the words are given.
"""

from __future__ import annotations

from dictation.session.breath import standing_of
from dictation.session.effects import (
    Alternative,
    Drop,
    Effect,
    Instead,
    JoinBack,
    Keep,
    SetTo,
    TakeBack,
)
from dictation.session.taken_over import Asked
from dictation.session.visit import Query, Visit
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


def _did_more(visit: Visit, query: Query) -> bool:
    """Whether the phrase did more than record: taking it back then touches other things too."""
    phrase = visit.utterance(query.utterance)
    if phrase is None:
        return False
    return phrase.implied_next or any(touch.before is not None for touch in phrase.touched)


def _in_rows(visit: Visit, query: Query, exam: Exam, effect: Effect) -> SetTo | None:
    mine = standing_of(visit, query.utterance)
    match effect:
        case Keep():
            kept = [(r.number, r.finding) for r in mine if r.state is FindingState.QUERIED]
            found = SetTo(tuple(kept))
        case Drop():
            found = SetTo((), tuple(r.number for r in mine))
        case Instead():
            instead = _instead(mine, effect.said)
            if instead is None:
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
