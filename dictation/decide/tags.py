"""Which animal is in hand: what a spoken tag does, and what it must not do in silence."""

from __future__ import annotations

from dataclasses import replace

from dictation.decide.doubt import ASK_BELOW
from dictation.decide.draft import Breath, Draft, animals_meant, known_animal, record
from dictation.visit.parts import Alternative, Keep, QueryState, SetTo
from dictation.visit.state import Visit
from grammar.exam import Exam, FindingState
from grammar.findings import Animal
from grammar.wording import capital, either, written

OFFERED_ANIMALS = 3
"""Animals that can be told apart by keys and in the head; of more the number is said longer."""


def take_animal(draft: Draft, breath: Breath, animal: Animal, words: str) -> None:
    """A tag was said.

    No tag yet: it is this animal's. The same tag: nothing new. Another tag once something was
    found: the next animal. Another tag before that: a slip or the next animal, so it is asked. So
    are a bare number, which may be a size, and a doubtful tag that no animal of the list has, which
    may be talk.
    """
    visit = draft.visit
    animal = _listed(visit, animal)
    exam = visit.exam_in_hand
    if exam is not None and _may_be_another(visit, exam, animal):
        _perhaps_another(draft, breath, animal)
        return
    if exam is None or not _names_another(visit, exam, animal):
        if exam is None or not _adds_nothing(visit, exam, animal):
            _record(draft, breath, animal, words)
        return
    # surely heard, an unlisted tag is another animal, of which the list does not know
    talk = not breath.sure and breath.phrase.confidence < ASK_BELOW
    if animal.tag_alone or (animal.listed is False and talk):
        _perhaps_another(draft, breath, animal)
    elif _something_found(visit, exam):
        next_animal(draft, breath, implied=True)
        _record(draft, breath, animal, words)
    else:
        _rename(draft, breath, exam, animal)


def _record(draft: Draft, breath: Breath, animal: Animal, words: str) -> None:
    """Put a tag on record; where it may mean several animals of the list, she is asked for."""
    meant = animals_meant(draft.visit, animal)
    several = animal.tag is not None and len(meant) > 1
    number = record(draft, replace(breath, sure=breath.sure and not several), animal, words)
    if not several:
        return
    chosen = (replace(animal, tag=known.tag, listed=True) for known in meant)
    offered = tuple(Alternative(written(each), SetTo(((number, each),))) for each in chosen)
    why = f"{animal.tag} may be more than one animal of the herd list"
    offered = offered[:OFFERED_ANIMALS]
    question = f"{capital(written(animal))}: {either(a.words for a in offered)}"
    draft.ask(breath.phrase.number, question, why, offered, no=Keep())


def _perhaps_another(draft: Draft, breath: Breath, animal: Animal) -> None:
    """Ask, and leave the animal in hand as it is."""
    question = f"{capital(written(animal))}: another animal? Say 'next' and her tag, or 'no'."
    if animal.tag_alone:
        why = "a bare number was said"
    elif animal.tag is None:
        why = "the number is not on the list, and another animal is in hand"
    else:
        why = "it was not sure, and is not on the list"
    draft.ask(breath.phrase.number, question, why, no=Keep())


def next_animal(draft: Draft, breath: Breath, *, implied: bool = False) -> None:
    """Close the exam in hand and open the next; an exam in which nothing was said is used on."""
    exam = draft.visit.exam_in_hand
    if exam is not None and not exam.recorded and not exam.open_queries:
        return
    draft.close_exam()
    draft.open_exam(breath.started_at, implied=implied)


def _listed(visit: Visit, animal: Animal) -> Animal:
    if visit.herd_list is None or (animal.tag is None and animal.electronic_id is None):
        return animal
    meant = animals_meant(visit, animal)
    return replace(animal, listed=None if len(meant) > 1 else bool(meant))


def _animals(exam: Exam) -> list[Animal]:
    return [r.finding for r in exam.standing if isinstance(r.finding, Animal)]


def _names_another(visit: Visit, exam: Exam, animal: Animal) -> bool:
    if animal.tag is not None:
        colours = {a.tag_colour for a in _animals(exam)} - {None}
        other = animal.tag_colour is not None and bool(colours - {animal.tag_colour})
        return exam.tag is not None and (other or not _is_hers(visit, exam, animal.tag))
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


def _is_hers(visit: Visit, exam: Exam, tag: str) -> bool:
    """Whether a tag is the one of the animal in hand, as it was said or in other words."""
    if exam.tag == tag:
        return True
    return exam.known is not None and exam.known in visit.numbers.named(tag)


def _adds_nothing(visit: Visit, exam: Exam, animal: Animal) -> bool:
    said = _animals(exam)
    hers = animal.tag is not None and _is_hers(visit, exam, animal.tag)
    return any(
        (hers or before.tag == (animal.tag or before.tag))
        and before.electronic_id == (animal.electronic_id or before.electronic_id)
        and before.animal_class == (animal.animal_class or before.animal_class)
        and before.tag_colour == (animal.tag_colour or before.tag_colour)
        for before in said
        if animal != Animal()
    )


def _something_found(visit: Visit, exam: Exam) -> bool:
    if any(not isinstance(r.finding, Animal) for r in exam.standing):
        return True
    animals = {r.phrase for r in exam.recorded}
    return any(q.phrase not in animals for q in visit.open_of(exam.number))


def _rename(draft: Draft, breath: Breath, exam: Exam, animal: Animal) -> None:
    """A sure tag settles a doubtful one; between two sure ones the speaker chooses."""
    named = next(
        r
        for r in reversed(exam.standing)
        if isinstance(r.finding, Animal) and (r.finding.tag or r.finding.electronic_id)
    )
    if named.state is FindingState.QUERIED and breath.sure:
        draft.set_value(named.number, animal, heard=breath.phrase.text)
        if named.phrase is not None:
            draft.settle_of(named.phrase, QueryState.ANSWERED, breath.phrase.text)
        return
    question = f"{written(named.finding)} was said and nothing found; is she {written(animal)}?"
    taking = Alternative(written(animal), SetTo(((named.number, animal),)))
    why = "two tags were said for one animal"
    draft.ask(breath.phrase.number, capital(question), why, (taking,), no=Keep())
