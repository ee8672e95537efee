"""``decide``: an input in the middle of a visit to the facts it leads to."""

from __future__ import annotations

from dataclasses import replace

from dictation.decide.desk import AT_DESK
from dictation.decide.draft import Draft
from dictation.decide.phrases import heard_phrase, take_phrase, typed_phrase
from dictation.decide.taken import read_anew, take_exam
from dictation.visit.facts import (
    Captured,
    ExamSet,
    Fact,
    HerdListed,
    PhraseSet,
    Setting,
    TakenBack,
    reverse,
)
from dictation.visit.inputs import (
    By,
    ExamTaken,
    Input,
    Noted,
    PhraseHeard,
    PhrasesJoined,
    PhraseTyped,
    ReadAnew,
    VisitClosed,
)
from dictation.visit.parts import Fate
from dictation.visit.state import Act, Visit

VOICE = By("voice")


def decide(visit: Visit, given: Input, by: By = VOICE, at: str = "") -> tuple[Fact, ...]:
    """The facts that an input leads to; none where it changes nothing.

    ``at``: the clock's time, UTC ISO 8601, for what has no time of its own. The same visit and
    input always give the same facts.
    """
    draft = Draft(visit)
    match given:
        case PhraseHeard():
            take_phrase(draft, heard_phrase(visit, given, at))
        case PhraseTyped():
            take_phrase(draft, typed_phrase(visit, given, at))
        case Noted():
            _note(draft, given)
        case PhrasesJoined():
            _join(draft, given)
        case VisitClosed():
            draft.close_exam()
            draft.go("closed", True)
        case ExamTaken():
            take_exam(draft, given)
        case ReadAnew():
            read_anew(draft, given)
        case _:
            AT_DESK[type(given)](draft, given, by)
    return tuple(draft.facts)


def _note(draft: Draft, given: Noted) -> None:
    fact = given.fact
    herd = draft.visit.herd_list
    if isinstance(fact, HerdListed) and herd is not None and fact.digest == herd.digest:
        return
    draft.add(fact)
    if isinstance(fact, HerdListed):
        for exam in draft.visit.exams:
            draft.name(exam.number)


def can_join(visit: Visit, first: int, second: int) -> bool:
    """Whether these phrases were the last two things that happened to the visit."""
    acts = _both(visit, first, second)
    if acts is None:
        return False
    since = (visit.acts[seq] for seq in range(acts[0].seq + 1, visit.given.seq + 1))
    return all(act.seq == acts[1].seq or _leaves_as_it_is(act) for act in since)


def _both(visit: Visit, first: int, second: int) -> tuple[Act, Act] | None:
    entries = [visit.index.entries.get(number) for number in (first, second)]
    acts = [visit.acts[entry] for entry in entries if entry is not None and entry in visit.acts]
    return (acts[0], acts[1]) if len(acts) == 2 else None


def _leaves_as_it_is(act: Act) -> bool:
    """Sound that was cut out or listened to; whatever a person did closes what came before."""
    return act.kind == "noted" and not any(isinstance(f, HerdListed) for f in act.facts)


def _join(draft: Draft, given: PhrasesJoined) -> None:
    """The visit as if the two had not been heard alone: both on record, their sound waiting.

    Nothing happened since, so each of their facts is put back just as it was.
    """
    visit = draft.visit
    acts = _both(visit, given.first, given.second)
    if acts is None or not can_join(visit, given.first, given.second):
        return
    for act in reversed(acts):
        for fact in reversed(act.facts):
            if isinstance(fact, PhraseSet):
                phrase = fact.now
                assert phrase is not None
                draft.put_phrase(replace(phrase, fate=Fate.JOINED))
            elif isinstance(fact, ExamSet) and fact.was is None:
                draft.add(replace(fact, was=fact.now, now=None, last=fact.number - 1))
            elif isinstance(fact, Setting):
                draft.add(reverse(fact))
        draft.add(TakenBack(act.seq, 0, visit.given.seq + 1))
    for number in (given.first, given.second):
        # The exam it opened is gone, and its number may become another animal's.
        joined = draft.visit.phrase(number)
        if joined is not None:
            draft.put_phrase(replace(joined, exam=draft.visit.in_hand))
    draft.add(Captured(given.into, given.at_s, given.until_s))
