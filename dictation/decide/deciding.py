"""``decide``: an input in the middle of a visit to the facts it leads to."""

from __future__ import annotations

from dataclasses import replace

from dictation.decide.desk import AT_DESK
from dictation.decide.draft import Draft
from dictation.decide.phrases import take_phrase
from dictation.visit import facts, inputs
from dictation.visit.facts import Fact
from dictation.visit.inputs import By, Input
from dictation.visit.parts import Effect, Fate, Frame, Keep, Name, SetTo
from dictation.visit.state import Act, Visit, exam_name

VOICE = By("voice")


def decide(visit: Visit, given: Input, by: By = VOICE, at: str = "") -> tuple[Fact, ...]:
    """The facts that an input leads to; none where it changes nothing.

    ``at``: the clock's time, UTC ISO 8601, for what has no time of its own. The same visit and
    input always give the same facts.
    """
    draft = Draft(visit)
    match given:
        case inputs.PhraseHeard() | inputs.PhraseTyped():
            take_phrase(draft, given, at)
        case inputs.Noted():
            _note(draft, given)
        case inputs.PhrasesJoined():
            _join(draft, given)
        case inputs.VisitClosed():
            draft.close_exam()
            draft.go("closed", True)
        case inputs.ExamTaken():
            _take_exam(draft, given)
        case inputs.ReadAnew():
            _read_anew(draft, given)
        case _:
            AT_DESK[type(given)](draft, given, by)
    return tuple(draft.facts)


def _note(draft: Draft, given: inputs.Noted) -> None:
    fact = given.fact
    herd = draft.visit.herd_list
    if isinstance(fact, facts.HerdListed) and herd is not None and fact.digest == herd.digest:
        return
    draft.add(fact)
    if isinstance(fact, facts.RecordingOpened):
        draft.go("closed", False)  # whoever gives more to be heard goes on with the visit
    if isinstance(fact, facts.HerdListed):
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
    one, other = visit.act_of(first), visit.act_of(second)
    return None if one is None or other is None else (one, other)


def _leaves_as_it_is(act: Act) -> bool:
    """Sound that was cut out or listened to; whatever a person did closes what came before."""
    return act.kind == "noted" and not act.of(facts.HerdListed)


def _join(draft: Draft, given: inputs.PhrasesJoined) -> None:
    """The visit as if the two had not been heard alone: both on record, their sound waiting.

    Nothing happened since, so each of their facts is put back just as it was.
    """
    visit = draft.visit
    acts = _both(visit, given.first, given.second)
    if acts is None or not can_join(visit, given.first, given.second):
        return
    for act in reversed(acts):
        for fact in reversed(act.facts):
            if isinstance(fact, facts.PhraseSet):
                phrase = fact.now
                assert phrase is not None
                draft.put_phrase(replace(phrase, fate=Fate.JOINED))
            elif isinstance(fact, facts.ExamSet) and fact.was is None:
                draft.add(replace(fact, was=fact.now, now=None, last=fact.number - 1))
            elif isinstance(fact, facts.Setting):
                draft.add(facts.reverse(fact))
        draft.add(facts.TakenBack(act.seq, 0, visit.given.seq + 1))
    for number in (given.first, given.second):
        # The exam it opened is gone, and its number may become another animal's.
        joined = draft.visit.phrase(number)
        if joined is not None:
            draft.put_phrase(replace(joined, exam=draft.visit.in_hand))
    draft.add(facts.Captured(given.into, given.at_s, given.until_s, given.recording))


def _take_exam(draft: Draft, given: inputs.ExamTaken) -> None:
    """The exam behind the others, closed, with its findings and open questions."""
    exams, number = draft.visit.exams, given.exam
    frame = Frame(exams[-1].number if exams else None, given.started_at)
    draft.add(facts.ExamSet(number, None, frame))
    numbers = [draft.add_finding(each, number) for each in given.recorded]
    looked_up = draft.visit.exam(number)
    assert looked_up is not None
    if given.tag is not None and looked_up.tag != given.tag:
        # She was called so there, whatever a list that is at hand here makes of what was said.
        listed = draft.visit.numbers.written(given.tag)
        name = Name(given.tag, None if listed is None else listed.tag)
        draft.add(facts.ExamNamed(number, exam_name(looked_up), name))
    unknown = f"it was open in {given.source}"
    phrases = [each.phrase for each in given.recorded if each.phrase is not None]
    phrase = phrases[-1] if phrases else 0
    questions = given.asked or tuple(inputs.Asked(words, unknown) for words in given.questions)
    for place, asked in enumerate(questions, start=1):
        offered = tuple(
            replace(each, effect=_numbered(each.effect, numbers)) for each in asked.alternatives
        )
        # Nothing of a phrase is at hand that 'none of them' could take back.
        no = Keep() if asked.no is None else _numbered(asked.no, numbers)
        renumbered = replace(asked, alternatives=offered, no=no)
        draft.raise_query(f"t{number}.{place}", phrase, number, renumbered)
    draft.set_closed(number, True)


def _numbered(effect: Effect, numbers: list[int]) -> Effect:
    """The effect with findings named by their numbers instead of their places in the file."""
    if not isinstance(effect, SetTo):
        return effect
    changes = tuple((numbers[place - 1], what) for place, what in effect.changes)
    return replace(effect, changes=changes, withdraw=tuple(numbers[p - 1] for p in effect.withdraw))


def _read_anew(draft: Draft, given: inputs.ReadAnew) -> None:
    """What nobody could compare with files of its day is asked about, once an animal."""
    for query_id, question in given.questions:
        query = draft.visit.query(query_id)
        if query is not None:
            draft.put_query(replace(query, question=question))
    for number in given.exams:
        exam = draft.visit.exam(number)
        if exam is None or not exam.standing:
            continue
        question = "Decided again by a newer version: are these findings right?"
        asked = inputs.Asked(question, given.why, no=Keep())
        name = f"a{number}.{draft.visit.given.query + 1}"
        draft.raise_query(name, exam.standing[-1].phrase or 0, number, asked)
