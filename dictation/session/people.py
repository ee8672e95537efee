"""Corrections that people make by hand: each an event, with who and why; nothing is erased."""

from __future__ import annotations

from dataclasses import replace

from dictation.session.answer import decide
from dictation.session.asking import settle
from dictation.session.breath import next_finding
from dictation.session.deeds import still_approved, undo, with_deed
from dictation.session.desk import at_desk
from dictation.session.events import (
    FINDINGS_AN_UTTERANCE,
    INSERTED_FROM,
    Approved,
    Choice,
    Corrected,
    Entry,
    Event,
    Merged,
    PhraseMoved,
    QueryAnswered,
    Renumbered,
    Split,
    Withdrawn,
)
from dictation.session.exams import add_finding, move_findings, set_state, set_value
from dictation.session.perform import perform
from dictation.session.review_events import Undone
from dictation.session.undo import join
from dictation.session.visit import Change, QueryState, Visit
from grammar.exam import Exam, FindingState, RecordedFinding
from grammar.findings import Animal


def correct(visit: Visit, event: Event, entry: Entry) -> Visit:
    """The visit after a person's event, with what it changed on record.

    What it names and is not there any more changes nothing.
    """
    after = still_approved(visit, _correct(visit, event, entry))
    who, why = getattr(event, "who", ""), getattr(event, "why", "")
    return with_deed(visit, after, entry, who, why)


def _correct(visit: Visit, event: Event, entry: Entry) -> Visit:  # noqa: PLR0911 - one a kind
    match event:
        case Undone():
            return undo(visit, event.undone, event.who, entry.at)
        case Corrected():
            return _corrected(visit, event, entry)
        case Withdrawn():
            return _withdrawn(visit, event, entry)
        case QueryAnswered():
            return _answered(visit, event)
        case PhraseMoved():
            return _moved(visit, event)
        case Merged():
            return join(visit, event.exam, event.into)
        case Split():
            return _split(visit, event)
        case Renumbered():
            return _renumbered(visit, event, entry)
        case Approved():
            return _approved(visit, event)
        case _:
            return at_desk(visit, event, entry)


def _corrected(visit: Visit, event: Corrected, entry: Entry) -> Visit:
    recorded = visit.recorded(event.finding)
    if recorded is None:
        return visit
    change = Change(event.finding, recorded.finding, event.now, event.who, event.why, entry.at)
    visit = set_value(visit, event.finding, event.now)
    return _settle_if_done(_with(visit, change), event.finding, event.who)


def _withdrawn(visit: Visit, event: Withdrawn, entry: Entry) -> Visit:
    recorded = visit.recorded(event.finding)
    if recorded is None:
        return visit
    change = Change(event.finding, recorded.finding, None, event.who, event.why, entry.at)
    visit = set_state(visit, event.finding, FindingState.WITHDRAWN)
    return _settle_if_done(_with(visit, change), event.finding, event.who)


def _settle_if_done(visit: Visit, finding: int, who: str) -> Visit:
    """A query falls once no finding of its utterance is in doubt any more."""
    utterance = finding // FINDINGS_AN_UTTERANCE
    left = [
        r
        for exam in visit.exams
        for r in exam.recorded
        if r.number // FINDINGS_AN_UTTERANCE == utterance and r.state is FindingState.QUERIED
    ]
    if left:
        return visit
    for query in visit.open_queries:
        if query.utterance == utterance:
            visit = settle(visit, query, QueryState.ANSWERED, f"corrected by {who}")
    return visit


def _answered(visit: Visit, event: QueryAnswered) -> Visit:
    query = visit.query(event.query)
    if query is None or query.state is not QueryState.OPEN:
        return visit
    if event.choice is Choice.SETTLED:
        return settle(visit, query, QueryState.ANSWERED, f"settled by {event.who}")
    if event.choice is Choice.NONE_OF_THEM:
        return decide(visit, query, None, f"none of them, by {event.who}", perform)
    number = event.alternative or 0
    if not 1 <= number <= len(query.alternatives):
        return visit
    return decide(visit, query, number, f"{number}, by {event.who}", perform)


def _moved(visit: Visit, event: PhraseMoved) -> Visit:
    if visit.exam(event.to_exam) is None:
        return visit
    numbers = frozenset(
        r.number
        for exam in visit.exams
        for r in exam.recorded
        if r.number // FINDINGS_AN_UTTERANCE == event.utterance
    )
    visit = move_findings(visit, numbers, event.to_exam)
    utterances = tuple(
        replace(u, exam=event.to_exam) if u.number == event.utterance else u
        for u in visit.utterances
    )
    return replace(visit, utterances=utterances)


def _split(visit: Visit, event: Split) -> Visit:
    source = visit.exam(event.exam)
    if source is None:
        return visit
    numbers = frozenset(
        r.number
        for r in source.recorded
        if r.number // FINDINGS_AN_UTTERANCE >= event.from_utterance
    )
    if not numbers or len(numbers) == len(source.recorded):
        return visit
    number = visit.last_exam + 1
    later = Exam(
        number=number,
        on_date=source.on_date,
        closed=source.closed,
        herd_list_given=source.herd_list_given,
        settings=source.settings,
    )
    place = next(i for i, exam in enumerate(visit.exams) if exam.number == event.exam)
    exams = (*visit.exams[: place + 1], later, *visit.exams[place + 1 :])
    in_hand = number if visit.in_hand == event.exam else visit.in_hand
    visit = replace(visit, exams=exams, last_exam=number, in_hand=in_hand)
    visit = move_findings(visit, numbers, number)
    utterances = tuple(
        replace(u, exam=number) if u.exam == event.exam and u.number >= event.from_utterance else u
        for u in visit.utterances
    )
    return replace(visit, utterances=utterances)


def _renumbered(visit: Visit, event: Renumbered, entry: Entry) -> Visit:
    exam = visit.exam(event.exam)
    if exam is None:
        return visit
    named = [
        r for r in exam.standing if isinstance(r.finding, Animal) and r.finding.tag is not None
    ]
    utterance = INSERTED_FROM + entry.seq
    animal = Animal(tag=event.tag)
    if named:
        was = named[-1].finding
        assert isinstance(was, Animal)
        change = Change(named[-1].number, was, animal, event.who, event.why, entry.at)
        animal = replace(was, tag=event.tag, listed=None)
        visit = set_value(visit, named[-1].number, animal)
        visit = _settle_if_done(visit, named[-1].number, event.who)
    else:
        number = next_finding(visit, utterance)
        change = Change(number, None, animal, event.who, event.why, entry.at)
        recorded = RecordedFinding(number, animal, FindingState.CORRECTED, "")
        visit = add_finding(visit, recorded, event.exam)
    return _with(visit, change)


def _approved(visit: Visit, event: Approved) -> Visit:
    if event.exam is None:
        return replace(visit, visit_approved=True)
    return replace(visit, approved=(*visit.approved, event.exam))


def _with(visit: Visit, change: Change) -> Visit:
    return replace(visit, changes=(*visit.changes, change))
