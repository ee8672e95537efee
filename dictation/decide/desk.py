"""What people put right by hand means for the visit: by key, at the desk or on the page."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from importlib.metadata import PackageNotFoundError, version
from typing import Any

from dictation.decide.answers import answer
from dictation.decide.change import likeness
from dictation.decide.draft import Draft, standing_of
from dictation.decide.spoken import perform
from dictation.decide.taking_back import take_back, why_not_taken_back
from dictation.visit import inputs
from dictation.visit.facts import ApprovalSet
from dictation.visit.inputs import By, Choice
from dictation.visit.parts import TYPED_IN_FROM, Approval, Fate, Frame, Phrase, QueryState
from dictation.visit.state import Visit
from dictation.visit.words import digest_of
from grammar.checks import check_exam
from grammar.exam import Approved, Exam, FindingState, RecordedFinding
from grammar.facts import facts_of
from grammar.figures import AgeSummary
from grammar.findings import Animal, Command, Finding
from grammar.summary import reckoned


def _changed(draft: Draft, given: inputs.FindingChanged, by: By) -> None:
    draft.set_value(given.finding, given.now)
    _settle_if_done(draft, given.finding, by)


def _withdrawn(draft: Draft, given: inputs.FindingWithdrawn, by: By) -> None:
    draft.set_state(given.finding, FindingState.WITHDRAWN)
    _settle_if_done(draft, given.finding, by)


def _settle_if_done(draft: Draft, finding: int, by: By) -> None:
    """A query falls once no finding of its phrase is in doubt any more."""
    recorded = draft.visit.recorded(finding)
    phrase = None if recorded is None else recorded.phrase
    if phrase is None:
        return
    made = draft.visit.findings_of(phrase)
    if not any(p.recorded.state is FindingState.QUERIED for p in made):
        draft.settle_of(phrase, QueryState.ANSWERED, f"corrected by {by.who}")


def _answered(draft: Draft, given: inputs.QueryAnswered, by: By) -> None:
    query = draft.visit.query(given.query)
    if query is None or query.state is not QueryState.OPEN:
        return
    if given.choice is Choice.SETTLED:
        draft.settle(query, QueryState.ANSWERED, f"settled by {by.who}")
    elif given.choice is Choice.NONE_OF_THEM:
        answer(draft, query, None, f"none of them, by {by.who}", perform)
    else:
        number = given.alternative or 0
        if 1 <= number <= len(query.alternatives):
            answer(draft, query, number, f"{number}, by {by.who}", perform)


def _moved(draft: Draft, given: inputs.PhraseMoved, by: By) -> None:
    if draft.visit.exam(given.to_exam) is None:
        return
    made = draft.visit.findings_of(given.phrase)
    draft.move((p.recorded.number for p in made), given.to_exam)
    _phrase_to(draft, draft.visit.phrase(given.phrase), given.to_exam)


def _split(draft: Draft, given: inputs.ExamSplit, by: By) -> None:
    visit = draft.visit
    source = visit.exam(given.exam)
    if source is None:
        return
    later = [r.number for r in source.recorded if _from(visit, r, given.from_phrase)]
    if not later or len(later) == len(source.recorded):
        return
    spoken = [p for p in visit.phrases if p.exam == given.exam and p.number >= given.from_phrase]
    number = draft.add_exam(Frame(given.exam))
    draft.set_closed(number, source.closed)
    if visit.in_hand == given.exam:
        draft.go("in_hand", number)
    draft.move(later, number)
    for phrase in spoken:
        _phrase_to(draft, phrase, number)


def _from(visit: Visit, recorded: RecordedFinding, phrase: int) -> bool:
    """Whether a finding came with that phrase or later; typed ones by when they were."""
    if recorded.phrase is not None:
        return recorded.phrase >= phrase
    made = visit.index.made.get(phrase, ())
    return bool(made) and recorded.number >= made[0]


def _tagged(draft: Draft, given: inputs.TagChanged, by: By) -> None:
    exam = draft.visit.exam(given.exam)
    if exam is None:
        return
    for recorded in reversed(exam.standing):
        if isinstance(recorded.finding, Animal) and recorded.finding.tag is not None:
            animal = replace(recorded.finding, tag=given.tag, listed=None)
            draft.set_value(recorded.number, animal)
            _settle_if_done(draft, recorded.number, by)
            return
    draft.record(Animal(tag=given.tag), given.exam, FindingState.CORRECTED, "", None)


def _put_right(
    draft: Draft, given: inputs.PhrasePutRight | inputs.PhraseHeardAgain, by: By
) -> None:
    """The findings of a phrase become these; what it asked is settled.

    A new finding takes the place of the old one of its kind, so that its number and history stay.
    A person's are corrected; those of a new hearing are accepted.
    """
    visit = draft.visit
    phrase = visit.phrase(given.phrase)
    old = list(standing_of(visit, given.phrase))
    if phrase is None and not old:
        return
    state, confidence = FindingState.CORRECTED, 1.0
    if isinstance(given, inputs.PhraseHeardAgain):
        state, confidence = FindingState.ACCEPTED, given.confidence
    if phrase is not None:
        phrase = replace(phrase, confidence=confidence)
    exam = _exam_of_phrase(visit, given.phrase)
    for said in given.said:
        if isinstance(said.what, Command):
            continue
        was = _counterpart(old, said.what)
        if was is not None:
            old.remove(was)
            if was.finding != said.what or was.state is FindingState.QUERIED:
                draft.change(was.number, finding=said.what, state=state)
        elif exam is not None:
            draft.record(said.what, exam, state, given.text, phrase)
    for left in old:
        draft.set_state(left.number, FindingState.WITHDRAWN)
    draft.settle_of(given.phrase, QueryState.ANSWERED, f"put right by {by.who}")


def _inserted(draft: Draft, given: inputs.PhraseInserted, by: By) -> None:
    """Findings that a person typed, at the end of an exam; refused speech may be behind them."""
    if draft.visit.exam(given.exam) is None:
        return
    taken_up = draft.visit.phrase(given.of_phrase)
    phrase = taken_up
    if phrase is None:
        number = TYPED_IN_FROM + draft.visit.given.seq + 1
        phrase = Phrase(number, given.text, Fate.INSERTED, given.exam)
        draft.put_phrase(phrase)
    for said in given.said:
        if not isinstance(said.what, Command):
            sure = replace(phrase, confidence=1.0)
            draft.record(said.what, given.exam, FindingState.CORRECTED, given.text, sure)
    if taken_up is not None:
        draft.settle_of(taken_up.number, QueryState.ANSWERED, f"taken up by {by.who}")


def _added(draft: Draft, given: inputs.ExamAdded, by: By) -> None:
    """An exam of its own for an animal that was missed; the exam in hand stays in hand."""
    if given.after is not None and draft.visit.exam(given.after) is None:
        return
    number = draft.add_exam(Frame(given.after))
    draft.set_closed(number, True)
    if given.tag is not None:
        draft.record(Animal(tag=given.tag), number, FindingState.CORRECTED, "", None)


def _approved(draft: Draft, given: inputs.ExamApproved, by: By) -> None:
    """A person stands for exams as they are, or for every exam and the visit (None)."""
    visit, exam = draft.visit, given.exam
    meant = given.exams or (exam,)
    seen = [each for each in visit.exams if {None, each.number} & set(meant)]
    approvals = {each.number: _approval(draft, each, by.who) for each in seen}
    if exam is None and not given.exams:
        stamp = Approved(by.who, AgeSummary(), (), this_version())
        approvals[0] = Approval(visit.given.seq, "", stamp)
    for number, now in approvals.items():
        was = visit.approval(number)
        if was != now:
            draft.add(ApprovalSet(number, was, now))


def this_version() -> str:
    """The version that reckons."""
    try:
        return version("hornsweep")
    except PackageNotFoundError:
        return "unknown"


def _approval(draft: Draft, exam: Exam, who: str) -> Approval:
    exam = replace(exam, approved=None)  # as it is now, not as it was approved before
    flags = check_exam(exam)
    stamp = Approved(who, reckoned(facts_of(exam)), flags, this_version())
    return Approval(draft.visit.given.seq, digest_of(exam, flags), stamp)


def _taken_back(draft: Draft, given: inputs.EntryTakenBack, by: By) -> None:
    if why_not_taken_back(draft.visit, given.entry) is None:
        take_back(draft, given.entry)


def _counterpart(old: list[RecordedFinding], finding: Finding) -> RecordedFinding | None:
    """Of the findings that stood, the one that a new one is likeliest to stand for."""
    same = [r for r in old if type(r.finding) is type(finding)]
    return max(same, key=lambda r: likeness(r.finding, finding), default=None)


def _exam_of_phrase(visit: Visit, number: int) -> int | None:
    standing = standing_of(visit, number)
    if standing:
        return visit.index.places[standing[0].number]
    phrase = visit.phrase(number)
    exam = None if phrase is None else visit.exam(phrase.exam)
    return None if exam is None else exam.number


def _phrase_to(draft: Draft, phrase: Phrase | None, exam: int) -> None:
    if phrase is not None:
        draft.put_phrase(replace(phrase, exam=exam))


AT_DESK: dict[type, Callable[[Draft, Any, By], None]] = {
    inputs.FindingChanged: _changed,
    inputs.FindingWithdrawn: _withdrawn,
    inputs.QueryAnswered: _answered,
    inputs.PhraseMoved: _moved,
    inputs.ExamsMerged: lambda draft, given, _: draft.join(given.exam, given.into),
    inputs.ExamSplit: _split,
    inputs.TagChanged: _tagged,
    inputs.PhrasePutRight: _put_right,
    inputs.PhraseHeardAgain: _put_right,
    inputs.PhraseInserted: _inserted,
    inputs.ExamAdded: _added,
    inputs.ExamApproved: _approved,
    inputs.EntryTakenBack: _taken_back,
}
"""What each input of a person does."""
