"""Steps of the fold: a phrase put right, inserted or heard again; an animal that was missed."""

from __future__ import annotations

from dataclasses import replace

from dictation.session.asking import settle
from dictation.session.breath import next_finding, standing_of
from dictation.session.change import MEANT_BY_KIND
from dictation.session.events import INSERTED_FROM, Entry, Event, Inserted
from dictation.session.exams import add_finding, set_state, set_value
from dictation.session.review_events import ExamAdded, Reheard, Rephrased
from dictation.session.visit import Change, QueryState, Visit
from grammar.exam import Exam, FindingState, RecordedFinding
from grammar.findings import Animal, Command, Finding


def at_desk(visit: Visit, event: Event, entry: Entry) -> Visit:
    """The visit after an event of one of these kinds; as it was after any other."""
    match event:
        case Rephrased() | Reheard():
            return rephrase(visit, event, entry)
        case Inserted():
            return insert(visit, event, entry)
        case ExamAdded():
            return add_exam(visit, event, entry)
        case _:
            return visit


def rephrase(visit: Visit, event: Rephrased | Reheard, entry: Entry) -> Visit:
    """The findings of an utterance become these; what it asked is settled.

    A new finding takes the place of the old one of its kind, so that its number and history stay.
    A person's are corrected; those of a new hearing are accepted.
    """
    utterance = visit.utterance(event.utterance)
    if utterance is None and not standing_of(visit, event.utterance):
        return visit
    at = (None, None) if utterance is None else (utterance.at_s, utterance.until_s)
    why = event.why if isinstance(event, Rephrased) else f"heard again by {event.engine}"
    state = FindingState.CORRECTED if isinstance(event, Rephrased) else FindingState.ACCEPTED
    old = list(standing_of(visit, event.utterance))
    exam = _exam_of_utterance(visit, event.utterance)
    changes: list[Change] = []
    for said in event.said:
        if isinstance(said.what, Command):
            continue
        was = _counterpart(old, said.what)
        if was is not None:
            old.remove(was)
            visit = _put(visit, was, said.what, state)
            if was.finding != said.what:
                changes.append(Change(was.number, was.finding, said.what, event.who, why, entry.at))
        elif exam is not None:
            number = next_finding(visit, event.utterance)
            confidence = 1.0 if isinstance(event, Rephrased) else event.confidence
            recorded = RecordedFinding(number, said.what, state, event.text, *at, confidence)
            visit = add_finding(visit, recorded, exam)
            changes.append(Change(number, None, said.what, event.who, why, entry.at))
    for left in old:
        visit = set_state(visit, left.number, FindingState.WITHDRAWN)
        changes.append(Change(left.number, left.finding, None, event.who, why, entry.at))
    visit = settled_by(visit, event.utterance, f"put right by {event.who}")
    return replace(visit, changes=(*visit.changes, *changes))


def add_exam(visit: Visit, event: ExamAdded, entry: Entry) -> Visit:
    """An exam of its own for an animal that was missed; the exam in hand stays in hand."""
    if visit.on_date is None or (event.after is not None and visit.exam(event.after) is None):
        return visit
    number = visit.last_exam + 1
    exam = Exam(
        number=number,
        on_date=visit.on_date,
        closed=True,
        herd_list_given=visit.herd_digest is not None,
    )
    numbers = [each.number for each in visit.exams]
    place = 0 if event.after is None else numbers.index(event.after) + 1
    exams = (*visit.exams[:place], exam, *visit.exams[place:])
    visit = replace(visit, exams=exams, last_exam=number)
    if event.tag is None:
        return visit
    animal = Animal(tag=event.tag)
    finding = next_finding(visit, INSERTED_FROM + entry.seq)
    change = Change(finding, None, animal, event.who, event.why, entry.at)
    recorded = RecordedFinding(finding, animal, FindingState.CORRECTED, "")
    visit = add_finding(visit, recorded, number)
    return replace(visit, changes=(*visit.changes, change))


def insert(visit: Visit, event: Inserted, entry: Entry) -> Visit:
    """Findings that a person typed, at the end of an exam; refused speech may be behind them."""
    if visit.exam(event.exam) is None:
        return visit
    taken_up = None if event.of_utterance is None else visit.utterance(event.of_utterance)
    at = (None, None) if taken_up is None else (taken_up.at_s, taken_up.until_s)
    for said in event.said:
        if isinstance(said.what, Command):
            continue
        number = next_finding(visit, INSERTED_FROM + entry.seq)
        recorded = RecordedFinding(number, said.what, FindingState.CORRECTED, event.text, *at)
        visit = add_finding(visit, recorded, event.exam)
        change = Change(number, None, said.what, event.who, event.why, entry.at)
        visit = replace(visit, changes=(*visit.changes, change))
    if taken_up is not None:
        visit = settled_by(visit, taken_up.number, f"taken up by {event.who}")
    return visit


def settled_by(visit: Visit, utterance: int, answer: str) -> Visit:
    """What an utterance asked is settled."""
    for query in visit.open_queries:
        if query.utterance == utterance:
            visit = settle(visit, query, QueryState.ANSWERED, answer)
    return visit


def _exam_of_utterance(visit: Visit, number: int) -> int | None:
    standing = standing_of(visit, number)
    if standing:
        exam = visit.exam_of(standing[0].number)
        return None if exam is None else exam.number
    utterance = visit.utterance(number)
    exam = None if utterance is None else visit.exam(utterance.exam)
    return None if exam is None else exam.number


def _put(visit: Visit, was: RecordedFinding, finding: Finding, state: FindingState) -> Visit:
    if was.finding != finding:
        visit = set_value(visit, was.number, finding)
        return set_state(visit, was.number, state)
    if was.state is FindingState.QUERIED:
        return set_state(visit, was.number, state)
    return visit


def _counterpart(old: list[RecordedFinding], finding: Finding) -> RecordedFinding | None:
    """Of the findings that stood, the one that a new one is likeliest to stand for."""
    same = [r for r in old if type(r.finding) is type(finding)]
    names = MEANT_BY_KIND.get(type(finding), ())
    return max(same, key=lambda r: _likeness(r.finding, finding, names), default=None)


def _likeness(one: Finding, other: Finding, names: tuple[str, ...]) -> tuple[bool, int, bool]:
    alike = sum(getattr(one, name) == getattr(other, name) for name in names)
    structure = getattr(one, "structure", None) == getattr(other, "structure", None)
    return one == other, alike, structure
