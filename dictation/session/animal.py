"""Which animal is in hand: what a spoken tag does, and what it must not do in silence."""

from __future__ import annotations

from dataclasses import replace

from dictation.session.asking import answered_by_saying_again, ask
from dictation.session.breath import Breath, next_finding
from dictation.session.doubt import ASK_BELOW
from dictation.session.effects import Alternative, Keep, SetTo
from dictation.session.events import FINDINGS_AN_UTTERANCE
from dictation.session.exams import (
    add_finding,
    close_exam,
    known_animal,
    open_exam,
    set_value,
)
from dictation.session.visit import QueryState, Visit
from grammar.exam import Exam, FindingState, RecordedFinding
from grammar.findings import Animal, Finding
from grammar.wording import written


def record(visit: Visit, breath: Breath, finding: Finding, words: str) -> Visit:
    """Put a finding into the exam in hand; where there is none, one is opened without a tag."""
    if visit.in_hand is None:
        visit = open_exam(visit, breath.started_at)
    assert visit.in_hand is not None
    recorded = RecordedFinding(
        number=next_finding(visit, breath.utterance),
        finding=finding,
        state=FindingState.ACCEPTED if breath.sure else FindingState.QUERIED,
        heard=words,
        at_s=breath.at_s,
        until_s=breath.until_s,
        confidence=breath.confidence,
    )
    return add_finding(visit, recorded, visit.in_hand)


def take_animal(visit: Visit, breath: Breath, animal: Animal, words: str) -> Visit:
    """A tag was said.

    No tag yet: it is this animal's. The same tag: nothing new. Another tag once something was
    found: the next animal. Another tag before that: a slip or the next animal, so it is asked. So
    are a bare number, which may be a size, and a doubtful tag that no animal of the list has, which
    may be talk.
    """
    animal = _listed(visit, animal)
    exam = visit.exam_in_hand
    if exam is not None and _may_be_another(visit, exam, animal):
        return _perhaps_another(visit, breath, animal)
    if exam is None or not _names_another(visit, exam, animal):
        if exam is not None and _adds_nothing(exam, animal):
            return visit
        return record(visit, breath, animal, words)
    # surely heard, an unlisted tag is another animal, of which the list does not know
    talk = not breath.sure and breath.confidence < ASK_BELOW
    if animal.tag_alone or (animal.listed is False and talk):
        return _perhaps_another(visit, breath, animal)
    if _something_found(visit, exam):
        visit = next_animal(visit, breath)
        return record(visit, breath, animal, words)
    return _rename(visit, breath, exam, animal)


def _perhaps_another(visit: Visit, breath: Breath, animal: Animal) -> Visit:
    """Ask, and leave the animal in hand as it is."""
    said = written(animal)
    question = f"{said[:1].upper()}{said[1:]}: another animal? Say 'next' and her tag, or 'no'."
    if animal.tag_alone:
        why = "a bare number was said"
    elif animal.tag is None:
        why = "the number is not on the list, and another animal is in hand"
    else:
        why = "it was not sure, and is not on the list"
    return ask(visit, breath.utterance, question, why, no=Keep())


def next_animal(visit: Visit, breath: Breath) -> Visit:
    """Close the exam in hand and open the next; an exam in which nothing was said is used on."""
    exam = visit.exam_in_hand
    if exam is not None and not exam.recorded and not exam.open_queries:
        return visit
    return open_exam(close_exam(visit), breath.started_at)


def _listed(visit: Visit, animal: Animal) -> Animal:
    if visit.herd_digest is None or (animal.tag is None and animal.electronic_id is None):
        return animal
    return replace(animal, listed=known_animal(visit, animal) is not None)


def _animals(exam: Exam) -> list[Animal]:
    return [r.finding for r in exam.standing if isinstance(r.finding, Animal)]


def _names_another(visit: Visit, exam: Exam, animal: Animal) -> bool:
    if animal.tag is not None:
        return exam.tag is not None and exam.tag != animal.tag
    if animal.electronic_id is not None:
        named = known_animal(visit, animal)
        if named is not None and exam.tag is not None:
            return named.tag != exam.tag
        known = {a.electronic_id for a in _animals(exam) if a.electronic_id}
        if exam.known is not None and exam.known.electronic_id:
            known.add(exam.known.electronic_id)
        return bool(known) and animal.electronic_id not in known
    return False


def _may_be_another(visit: Visit, exam: Exam, animal: Animal) -> bool:
    """A bare number where findings wait for a tag; an electronic number that no animal of the list
    has, read where another animal's findings are."""
    if animal.tag_alone and exam.tag is None:
        return _something_found(visit, exam)
    if animal.tag is not None or animal.electronic_id is None or exam.tag is None:
        return False
    unknown = exam.known is None or not exam.known.electronic_id
    read = any(a.electronic_id for a in _animals(exam))
    return not animal.listed and unknown and not read and _something_found(visit, exam)


def _adds_nothing(exam: Exam, animal: Animal) -> bool:
    said = _animals(exam)
    return any(
        before.tag == (animal.tag or before.tag)
        and before.electronic_id == (animal.electronic_id or before.electronic_id)
        and before.animal_class == (animal.animal_class or before.animal_class)
        for before in said
        if animal != Animal()
    )


def _something_found(visit: Visit, exam: Exam) -> bool:
    if any(not isinstance(r.finding, Animal) for r in exam.standing):
        return True
    animals = {r.number // FINDINGS_AN_UTTERANCE for r in exam.recorded}
    return any(
        q.exam == exam.number and q.state is QueryState.OPEN and q.utterance not in animals
        for q in visit.queries
    )


def _rename(visit: Visit, breath: Breath, exam: Exam, animal: Animal) -> Visit:
    """A sure tag settles a doubtful one; between two sure ones the speaker chooses."""
    named = next(
        r
        for r in reversed(exam.standing)
        if isinstance(r.finding, Animal) and (r.finding.tag or r.finding.electronic_id)
    )
    if named.state is FindingState.QUERIED and breath.sure:
        visit = set_value(visit, named.number, animal, heard=breath.text)
        return answered_by_saying_again(visit, named.number // FINDINGS_AN_UTTERANCE, breath.text)
    question = f"{written(named.finding)} was said and nothing found; is she {written(animal)}?"
    taking = Alternative(written(animal), SetTo(((named.number, animal),)))
    return ask(
        visit,
        breath.utterance,
        question[:1].upper() + question[1:],
        "two tags were said for one animal",
        (taking,),
        no=Keep(),
    )
