"""An exam that comes from a file instead of from speech."""

from __future__ import annotations

from dataclasses import replace

from dictation.decide.draft import Draft
from dictation.visit.facts import ExamNamed, ExamSet
from dictation.visit.inputs import Asked, ExamTaken, ReadAnew
from dictation.visit.parts import Alternative, Effect, Frame, Keep, Name, Query, SetTo


def take_exam(draft: Draft, given: ExamTaken) -> None:
    """The exam behind the others, closed, with its findings and open questions."""
    exams, number = draft.visit.exams, given.exam
    frame = Frame(exams[-1].number if exams else None, given.started_at)
    draft.add(ExamSet(number, None, frame))
    numbers = [draft.record(each, number) for each in given.recorded]
    looked_up = draft.visit.exam(number)
    assert looked_up is not None
    if looked_up.tag is None and given.tag is not None:
        # Known there by an electronic number alone, whose list is not at hand here.
        draft.add(ExamNamed(number, Name(), Name(given.tag)))
    unknown = f"it was open in {given.source}"
    phrases = [each.phrase for each in given.recorded if each.phrase is not None]
    phrase = phrases[-1] if phrases else 0
    questions = given.asked or tuple(Asked(words, unknown) for words in given.questions)
    for place, asked in enumerate(questions, start=1):
        order = draft.visit.given.query + 1
        query = Query(
            id=f"t{number}.{place}",
            order=order,
            phrase=phrase,
            exam=number,
            question=asked.question,
            why=asked.why,
            alternatives=tuple(
                Alternative(each.words, _numbered(each.effect, numbers))
                for each in asked.alternatives
            ),
            # Nothing of a phrase is at hand that 'none of them' could take back.
            no=Keep() if asked.no is None else _numbered(asked.no, numbers),
        )
        draft.put_query(query)
    draft.set_closed(number, True)


def _numbered(effect: Effect, numbers: list[int]) -> Effect:
    """The effect with findings named by their numbers instead of their places in the file."""
    if not isinstance(effect, SetTo):
        return effect
    changes = tuple((numbers[place - 1], what) for place, what in effect.changes)
    return replace(effect, changes=changes, withdraw=tuple(numbers[p - 1] for p in effect.withdraw))


def read_anew(draft: Draft, given: ReadAnew) -> None:
    """What nobody could compare with files of its day is asked about, once an animal."""
    for query_id, question in given.questions:
        query = draft.visit.query(query_id)
        if query is not None:
            draft.put_query(replace(query, question=question))
    for number in given.exams:
        exam = draft.visit.exam(number)
        if exam is None or not exam.standing:
            continue
        order = draft.visit.given.query + 1
        phrase = exam.standing[-1].phrase or 0
        question = "Decided again by a newer version: are these findings right?"
        query = Query(f"a{number}.{order}", order, phrase, number, question, given.why, no=Keep())
        draft.put_query(query)
