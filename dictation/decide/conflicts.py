"""Two people at one visit: whether what a person puts right changed after they looked.

A conflict is a later fact about the same thing. More being said of the animal in hand is none.
"""

from __future__ import annotations

from dictation.decide.draft import standing_of
from dictation.decide.taking_back import why_not_taken_back
from dictation.visit import facts, inputs
from dictation.visit.inputs import INPUTS, PEOPLES
from dictation.visit.parts import QueryState
from dictation.visit.state import Act, OneKind, Visit
from grammar.exam import FindingState
from grammar.wording import written


def changed_meanwhile(visit: Visit, deed: inputs.Deed, based_on: int | None) -> str | None:
    """What changed since entry ``based_on`` that a deed is about, as a sentence; or None."""
    if isinstance(deed, inputs.EntryTakenBack):
        return why_not_taken_back(visit, deed.entry)
    if based_on is None or based_on >= visit.last_seq:
        return None
    since = [visit.acts[seq] for seq in range(based_on + 1, visit.last_seq + 1)]
    told = _changed(visit, deed, since)
    return None if told is None else told + _by_whom(since)


def changed_since_approved(visit: Visit, exam: int) -> tuple[str, ...]:
    """Who changed an exam after it was last approved, the first of them first."""
    approval = visit.approval(exam)
    if approval is None:
        return ()
    since = (visit.acts[seq] for seq in range(approval.seen + 2, visit.last_seq + 1))
    touched = (act.who for act in since if any(exam in _exams_of(fact) for fact in act.facts))
    return tuple(dict.fromkeys(touched))


def _changed(  # noqa: PLR0911 - one a kind
    visit: Visit, deed: inputs.Deed, since: list[Act]
) -> str | None:
    match deed:
        case inputs.FindingChanged() | inputs.FindingWithdrawn():
            return _finding(visit, deed.finding, since)
        case inputs.PhrasePutRight() | inputs.PhraseMoved() | inputs.PhraseHeardAgain():
            return _phrase(visit, deed.phrase, since)
        case inputs.QueryAnswered():
            return _query(visit, deed.query, since)
        case inputs.PhraseInserted():
            return _inserted(visit, deed, since)
        case inputs.ExamsMerged():
            return _exam(visit, deed.exam, since) or _exam(visit, deed.into, since)
        case inputs.ExamSplit() | inputs.TagChanged():
            return _exam(visit, deed.exam, since)
        case inputs.ExamAdded():
            gone = deed.after is not None and visit.exam(deed.after) is None
            return "The animal before it is not there any more" if gone else None
        case inputs.ExamApproved():
            every = [_approved(visit, each, since) for each in deed.exams or (deed.exam,)]
            return next(filter(None, every), None)
    return None


def _of(since: list[Act], kind: type[OneKind]) -> list[OneKind]:
    return [fact for act in since for fact in act.of(kind)]


def _finding(visit: Visit, number: int, since: list[Act]) -> str | None:
    first = next((f for f in _of(since, facts.FindingSet) if f.number == number), None)
    if first is None or first.was == visit.placed(number):
        return None
    was, now = first.was, visit.placed(number)
    if now is None or now.recorded.state is FindingState.WITHDRAWN:
        return "This finding was withdrawn meanwhile"
    if was is None or was.recorded.finding != now.recorded.finding:
        words = written(now.recorded.finding)
        return f"This finding was changed meanwhile and is now '{words}'"
    if was.exam != now.exam:
        return f"This finding was moved to exam {now.exam} meanwhile"
    return f"This finding was {now.recorded.state} meanwhile"


def _phrase(visit: Visit, number: int, since: list[Act]) -> str | None:
    made = set(visit.index.made.get(number, ()))
    if any(fact.number in made for fact in _of(since, facts.FindingSet)):
        standing = standing_of(visit, number)
        words = "; ".join(written(r.finding) for r in standing) or "nothing"
        return f"This phrase was changed meanwhile and now says '{words}'"
    for fact in _of(since, facts.PhraseSet):
        if fact.number == number and fact.was and fact.now:
            return f"This phrase was moved to exam {fact.now.exam} meanwhile"
    return None


def _query(visit: Visit, query_id: str, since: list[Act]) -> str | None:
    now = visit.query(query_id)
    if now is None:
        return "This question is not there any more"
    changes = [f for f in _of(since, facts.QuerySet) if f.id == query_id]
    if changes and now.state is not QueryState.OPEN:
        return f"This was settled meanwhile ({now.answer or now.state})"
    was = changes[0].was if changes else None
    if was is not None and was.alternatives != now.alternatives:
        return "This question changed meanwhile"
    return None


def _inserted(visit: Visit, deed: inputs.PhraseInserted, since: list[Act]) -> str | None:
    if visit.exam(deed.exam) is None:
        return "This animal is not there any more"
    took_up = (INPUTS[inputs.PhraseInserted], INPUTS[inputs.PhrasePutRight])
    if deed.of_phrase is not None:
        for act in since:
            stands = not visit.index.taken_back.get(act.seq, 0)
            if act.kind in took_up and act.phrase == deed.of_phrase and stands:
                return "This speech was taken up meanwhile"
    return None


def _exam(visit: Visit, number: int, since: list[Act]) -> str | None:
    exam = visit.exam(number)
    if exam is None:
        return "This animal was merged into another meanwhile"
    for fact in _of(since, facts.Fact):
        if isinstance(fact, facts.ExamNamed) and fact.exam == number and fact.was.tag != exam.tag:
            return f"This animal's tag is {exam.tag or 'unknown'} since meanwhile"
        if isinstance(fact, facts.FindingSet) and fact.was is not None and fact.was.exam == number:
            return "Findings of this animal were changed meanwhile"
    return None


def _approved(visit: Visit, number: int | None, since: list[Act]) -> str | None:
    for fact in _of(since, facts.Fact):
        if isinstance(fact, facts.ExamSet) and number in (None, fact.number):
            return "Animals were added or merged meanwhile"
        for each in sorted(_exams_of(fact)):
            if number in (None, each):
                exam = visit.exam(each)
                tag = None if exam is None else exam.tag
                return f"{f'Tag {tag}' if tag else f'Exam {each}'} was changed meanwhile"
    return None


def _exams_of(fact: facts.Fact) -> set[int]:
    """Exams in which a fact changed what a person stands for who approves them."""
    match fact:
        case facts.FindingSet():
            return {placed.exam for placed in (fact.was, fact.now) if placed is not None}
        case facts.QuerySet():
            return {query.exam for query in (fact.was, fact.now) if query and query.exam}
        case facts.ExamNamed():
            return {fact.exam}
        case _:
            return set()


def _by_whom(since: list[Act]) -> str:
    names = {act.who for act in since if act.who and act.kind in PEOPLES}
    by = f" by {', '.join(sorted(names))}" if names else ""
    return f"{by}; nothing of yours was lost or done: look again."
