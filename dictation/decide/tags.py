"""Which animal is in hand: what a spoken tag does, and what it must not do in silence."""

from __future__ import annotations

from dataclasses import replace

from dictation.decide.draft import Breath, Draft, animals_meant, known_animal, record
from dictation.visit.parts import Alternative, Instead, Keep, Query, QueryState, SetTo
from dictation.visit.state import Visit
from grammar.exam import Exam, FindingState
from grammar.findings import Animal, Command, CommandName, Said
from grammar.wording import capital, either, written

OFFERED_ANIMALS = 3
"""Animals that can be told apart by keys and in the head; of more the number is said longer."""

DIGITS = frozenset(
    """
    oh zero nought one two three four five six seven eight nine double triple treble
    """.split()  # noqa: SIM905
)
"""Words in which a tag is read digit by digit."""


def take_animal(draft: Draft, breath: Breath, animal: Animal, words: str) -> None:
    """A tag was said.

    No tag yet: it is this animal's. The same tag: nothing new. Another tag that is on the list, or
    once something was found: the next animal. Another tag before that: a slip or the next animal,
    so it is asked. So is a bare number that is not on the list, or without a list was not said
    digit by digit.
    """
    visit = draft.visit
    animal = _listed(visit, animal)
    exam = visit.exam_in_hand
    if exam is not None and _may_be_another(visit, exam, animal):
        _perhaps_another(draft, breath, exam, animal)
    elif exam is None or not _names_another(visit, exam, animal):
        if exam is None or not _adds_nothing(visit, exam, animal):
            _record(draft, breath, animal, words)
    elif animal.tag_alone and not (animal.listed or _plainly_a_tag(animal, words)):
        _perhaps_another(draft, breath, exam, animal)
    elif _something_found(visit, exam) or _named_surely(exam, animal):
        _settle_what_it_repeats(draft, breath)
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


def _settle_what_it_repeats(draft: Draft, breath: Breath) -> None:
    """A sure tag straight behind a doubtful one is what that was."""
    query, last = in_question(draft.visit), draft.visit.last_phrase
    if query is None or last is None or last.number != query.phrase:
        return
    if all(isinstance(each.what, Animal | Command) for each in query.first_said):
        draft.settle(query, QueryState.ANSWERED, breath.phrase.text)


def leaves(visit: Visit, exam: Exam, said: tuple[Said, ...]) -> bool:
    """Whether a breath is about another animal than that of the exam."""
    for what in (each.what for each in said):
        match what:
            case Command(name=CommandName.CHANGE):
                return False
            case Command(name=CommandName.BACK_TO):
                return True
            case Command(name=CommandName.NEXT_ANIMAL) if exam.recorded or exam.open_queries:
                return True
            case Animal() if _is_another(visit, exam, _listed(visit, what)):
                return True
            case _:
                continue
    return False


def _is_another(visit: Visit, exam: Exam, animal: Animal) -> bool:
    return _names_another(visit, exam, animal) or _may_be_another(visit, exam, animal)


def in_question(visit: Visit) -> Query | None:
    """What is asked of the animal in hand that may mean another one."""
    exam = visit.exam_in_hand
    if exam is None:
        return None
    for query in visit.open_of(exam.number):
        if query.former is None and leaves(visit, exam, query.first_said):
            return query
    return None


def _plainly_a_tag(animal: Animal, words: str) -> bool:
    """Digit by digit, and no list that speaks against it."""
    return animal.listed is None and all(word in DIGITS for word in words.split())


def _named_surely(exam: Exam, animal: Animal) -> bool:
    """Whether a listed tag, or 'no tag', is another animal though nothing was found of this one."""
    doubtful = any(
        r.state is FindingState.QUERIED for r in exam.standing if isinstance(r.finding, Animal)
    )
    return not doubtful and (bool(animal.listed) or _untagged(animal))


def _perhaps_another(draft: Draft, breath: Breath, exam: Exam, animal: Animal) -> None:
    """Ask, and leave the animal in hand as it is; what follows waits with the other."""
    hers, another = _meant(breath, animal)
    offered = [Alternative("another animal", another)]
    question = f"{capital(written(animal))}: another animal?"
    if animal.tag_alone:
        why = "a bare number was said"
    else:
        why = "the number is not on the list, and another animal is in hand"
    if exam.tag is None:
        question = f"{capital(written(animal))}: another animal, or this one?"
        offered.append(Alternative("this one", hers))
    draft.ask(breath.phrase.number, question, why, tuple(offered), no=Keep())


def _meant(breath: Breath, animal: Animal) -> tuple[Instead, Instead]:
    """That the animal in hand is this one, and that the next one is."""
    named = replace(animal, tag_alone=False)
    following = Command(CommandName.NEXT_ANIMAL, animal=named)
    words = breath.phrase.text
    return Instead((Said(named, 0, 0, words),)), Instead((Said(following, 0, 0, words),))


def next_animal(draft: Draft, breath: Breath, *, implied: bool = False) -> None:
    """Close the exam in hand and open the next; an exam in which nothing was said is used on."""
    exam = draft.visit.exam_in_hand
    if exam is not None and not exam.recorded and not exam.open_queries:
        return
    draft.close_exam()
    draft.open_exam(breath.started_at, implied=implied)


def back_to(draft: Draft, breath: Breath, animal: Animal | None) -> None:
    """An animal that was seen before is in hand again: the one named, or the one before."""
    visit, exam = draft.visit, draft.visit.exam_in_hand
    before = last_seen(visit, animal)
    if animal is None and exam is not None and _something_found(visit, exam):
        if exam.tag is not None or _animals(exam) or before is None:
            draft.reply(f"{capital(_whose(exam))} is in hand.")
        else:
            draft.join(exam.number, before.number)
        return
    if before is None and animal is None:
        draft.reply("No animal was seen before.")
    elif before is None and animal is not None:
        begin = Alternative("begin her", _meant(breath, animal)[1])
        question = f"{capital(written(animal))} was not seen yet: begin her?"
        draft.ask(breath.phrase.number, question, "no exam carries that tag", (begin,), no=Keep())
    elif before is not None and before != exam:
        draft.close_exam()
        draft.set_closed(before.number, False)
        draft.go("in_hand", before.number)
        draft.reply(f"Back to {_whose(before)}.")


def last_seen(visit: Visit, animal: Animal | None) -> Exam | None:
    """The last exam of an animal; of none named, the one that was in hand before."""
    if animal is not None:
        known = known_animal(visit, animal)
        tag = animal.tag if known is None else known.tag
        return next((e for e in reversed(visit.exams) if e.tag is not None and e.tag == tag), None)
    others = (visit.exam(p.exam) for p in reversed(visit.phrases) if p.exam != visit.in_hand)
    return next((exam for exam in others if exam is not None), None)


def retag(draft: Draft, breath: Breath, animal: Animal) -> None:
    """The animal in hand carries this tag; the one before, where nothing is recorded of that yet.

    Where another animal is in question, that one does, and she is the next.
    """
    visit, exam = draft.visit, draft.visit.exam_in_hand
    query = in_question(visit)
    if query is not None:
        draft.settle(query, QueryState.ANSWERED, breath.phrase.text)
        next_animal(draft, breath)
        record(draft, breath, _listed(visit, replace(animal, tag_alone=False)), breath.phrase.text)
        return
    if exam is None or not exam.recorded:
        exam = last_seen(visit, None) or exam
    if exam is None:
        draft.reply("No animal is in hand.")
        return
    animal = _listed(visit, replace(animal, tag_alone=False))
    tagged = [r for r in exam.standing if isinstance(r.finding, Animal)]
    named = next((r for r in reversed(tagged) if r.finding != Animal()), None)
    if named is None:
        draft.record(animal, exam.number, FindingState.ACCEPTED, breath.phrase.text, breath.phrase)
    else:
        was = named.finding
        assert isinstance(was, Animal)
        of_class = animal.animal_class or was.animal_class
        draft.set_value(named.number, replace(animal, animal_class=of_class), breath.phrase.text)
        if named.phrase is not None and named.state is FindingState.QUERIED:
            draft.settle_of(named.phrase, QueryState.ANSWERED, breath.phrase.text)
    draft.reply(f"She is {written(animal)}.")


def _whose(exam: Exam) -> str:
    return f"tag {exam.tag}" if exam.tag else "the animal without a tag"


def _untagged(animal: Animal) -> bool:
    return animal.tag is None and animal.electronic_id is None


def _told_untagged(exam: Exam) -> bool:
    """Whether 'no tag' was said of her: the next number, or 'no tag', is another's."""
    return any(_untagged(animal) for animal in _animals(exam))


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
        if exam.tag is None:
            return _told_untagged(exam) and _something_found(visit, exam)
        return other or not _is_hers(visit, exam, animal.tag)
    if animal.electronic_id is not None:
        named = known_animal(visit, animal)
        if named is not None and exam.tag is not None:
            return named.tag != exam.tag
        known = {a.electronic_id for a in _animals(exam) if a.electronic_id}
        if exam.known is not None and exam.known.electronic_id:
            known.add(exam.known.electronic_id)
        return bool(known) and animal.electronic_id not in known
    return exam.tag is not None or (_told_untagged(exam) and _something_found(visit, exam))


def _may_be_another(visit: Visit, exam: Exam, animal: Animal) -> bool:
    """A bare number where findings wait for a tag; an electronic number that no animal of the list
    has, read where another animal's findings are."""
    if animal.tag_alone and exam.tag is None and not _told_untagged(exam):
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
    """A sure tag settles a doubtful one; between two sure ones the speaker chooses, and the last
    stands until then."""
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
    number = record(draft, replace(breath, sure=False), animal, breath.phrase.text)
    taking = Alternative(written(animal), SetTo(((number, animal),), withdraw=(named.number,)))
    why = "two tags were said for one animal"
    draft.ask(breath.phrase.number, capital(question), why, (taking,))
