"""Which animal it is: tags, the herd list, and the age class."""

from __future__ import annotations

from collections.abc import Iterator

from grammar.checks.rule import COMMON_PRACTICE, Family, Raised
from grammar.exam import FindingState
from grammar.facts import ExamFacts
from grammar.findings import Animal, AnimalClass, History, Note, PastEvent
from grammar.wording import spaced

RULES = Family("identity")
_MALE = frozenset({"bull", "steer", "bullock", "male", "ox"})
GONE = frozenset({"sold", "dead", "died", "culled", "gone"})
"""Words of a list for an animal that has left."""
_TWICE = ("twice", "through again")


def says_twice(note: Note) -> bool:
    """Whether it is said that an animal was seen twice at one visit."""
    return note.text.endswith(_TWICE)


def _of_tag(facts: ExamFacts) -> tuple[int, ...]:
    return facts.numbers(Animal, lambda animal: _is_hers(facts, animal.tag))


def _is_hers(facts: ExamFacts, tag: str | None) -> bool:
    """Whether a tag is that of the exam, or another number of the animal that the list has."""
    known = facts.exam.known
    return tag == facts.exam.tag or (tag is not None and known is not None and known.bears(tag))


@RULES.query(COMMON_PRACTICE)
def no_tag(facts: ExamFacts) -> Iterator[Raised]:
    """An exam closes without a tag."""
    told_id = any(t.finding.tag or t.finding.electronic_id for t in facts.of(Animal))
    if facts.exam.closed and facts.exam.tag is None and not told_id:
        yield Raised("The exam closed without a tag. Say or write which animal it was.")


@RULES.query(COMMON_PRACTICE)
def tag_not_on_list(facts: ExamFacts) -> Iterator[Raised]:
    """The tag is not on the herd list given."""
    exam = facts.exam
    # Where it may be that of several animals, she is asked for.
    asked = any(
        r.state is FindingState.QUERIED and r.finding.tag == exam.tag and r.finding.listed is None
        for r in exam.standing
        if isinstance(r.finding, Animal)
    )
    if exam.herd_list_given and exam.tag is not None and exam.known is None and not asked:
        yield Raised(
            f"Tag {exam.tag} is not on the herd list. Check the number.",
            (("tag", exam.tag),),
            _of_tag(facts),
        )


@RULES.query(COMMON_PRACTICE)
def same_tag_twice(facts: ExamFacts) -> Iterator[Raised]:
    """Two exams of one visit carry the same tag, and nobody said that she came twice."""
    exam = facts.exam
    told = any(says_twice(note) for _, note in facts.of(Note))
    if exam.tag is not None and exam.tag_repeated_in and not told:
        others = ", ".join(str(number) for number in sorted(exam.tag_repeated_in))
        yield Raised(
            f"Tag {exam.tag} is also on exam {others} of this visit. Check both numbers, or say "
            "that she came through twice.",
            (("tag", exam.tag), ("other exams", others)),
            _of_tag(facts),
        )


@RULES.query(COMMON_PRACTICE)
def two_tags_in_one_exam(facts: ExamFacts) -> Iterator[Raised]:
    """Two different tags in one exam."""
    tags = sorted({t.finding.tag for t in facts.of(Animal) if t.finding.tag})
    if len(tags) > 1 and not all(_is_hers(facts, tag) for tag in tags):
        yield Raised(
            f"Tags {' and '.join(tags)} are recorded in one exam. Check which animal it was.",
            (("tags", ", ".join(tags)),),
            facts.numbers(Animal, lambda animal: animal.tag),
        )


@RULES.query(COMMON_PRACTICE)
def electronic_number_differs(facts: ExamFacts) -> Iterator[Raised]:
    """The electronic number said does not end the listed one."""
    known = facts.exam.known
    if known is None or known.electronic_id is None:
        return
    for number, animal in facts.of(Animal):
        said = animal.electronic_id
        if said is not None and not known.electronic_id.endswith(said):
            yield Raised(
                f"Electronic number {said} is not that of tag {known.tag} on the herd list "
                f"({known.electronic_id}). Check both.",
                (("said", said), ("listed", known.electronic_id)),
                (number,),
            )


@RULES.query(COMMON_PRACTICE)
def class_differs_from_list(facts: ExamFacts) -> Iterator[Raised]:
    """The age class said is impossible by the calvings listed."""
    known = facts.exam.known
    if known is None:
        return
    calvings = known.parity
    if calvings is None and known.calved_on is not None:
        calvings = 1
    for number, animal in facts.of(Animal):
        said = animal.animal_class
        if said is None:
            continue
        if calvings is None:
            wrong = (said is AnimalClass.HEIFER and known.animal_class == "cow") or (
                said is AnimalClass.COW and known.animal_class == "heifer"
            )
        elif said is AnimalClass.HEIFER:
            wrong = calvings > 0
        elif said is AnimalClass.FIRST_CALVER:
            wrong = known.parity is not None and known.parity > 1
        else:
            wrong = calvings == 0
        if wrong:
            listed = known.animal_class or "no class"
            count = "unknown" if calvings is None else str(calvings)
            yield Raised(
                f"Called a {spaced(said)}, but the herd list has {listed} with "
                f"calvings: {count}. Check the tag and the class.",
                (("said", said.value), ("listed", listed), ("calvings", count)),
                (number,),
            )


@RULES.query(COMMON_PRACTICE)
def class_said_two_ways(facts: ExamFacts) -> Iterator[Raised]:
    """Two age classes are said, or a heifer is said to have calved."""
    classes = {t.finding.animal_class for t in facts.of(Animal)} - {None}
    numbers = facts.numbers(Animal, lambda animal: animal.animal_class)
    calved = facts.numbers(History, lambda history: history.event is PastEvent.CALVED)
    if AnimalClass.HEIFER in classes and (len(classes) > 1 or calved):
        yield Raised(
            "Recorded as a heifer and as having calved. Check the class.",
            (("classes", ", ".join(sorted(str(c) for c in classes))),),
            numbers + calved,
        )


@RULES.query("arithmetic")
def heifer_with_a_calving(facts: ExamFacts) -> Iterator[Raised]:
    """The herd list has her as a heifer, and a calving is listed or said."""
    known = facts.exam.known
    if known is None or not facts.heifer or known.parity not in (None, 0):
        return
    said = facts.numbers(Animal, lambda animal: animal.animal_class)
    calved = facts.numbers(History, lambda history: history.event is PastEvent.CALVED)
    # What was said is asked about by itself: calved beside heifer, heifer beside a listed calving.
    listed_so = known.calved_on is not None and (known.parity == 0 or not said)
    if (listed_so and not (said and calved)) or (calved and not said):
        listed = "" if known.calved_on is None else f" on {known.calved_on.isoformat()}"
        yield Raised(
            f"The herd list has her as a heifer, and a calving{listed} stands. Check the class, "
            "the tag and the calving.",
            (("parity", "not listed" if known.parity is None else str(known.parity)),),
            calved,
        )


@RULES.query(COMMON_PRACTICE)
def listed_as_male_or_gone(facts: ExamFacts) -> Iterator[Raised]:
    """The herd list has the tag as a male or as having left."""
    known = facts.exam.known
    if known is None:
        return
    for word in (known.animal_class, known.last_status):
        if word is not None and word.strip().lower() in _MALE | GONE:
            yield Raised(
                f"The herd list has tag {known.tag} as '{word}'. Check the number.",
                (("tag", known.tag), ("listed", word)),
                facts.numbers(Animal),
            )


@RULES.note(COMMON_PRACTICE)
def no_side_said(facts: ExamFacts) -> Iterator[Raised]:
    """A structure on an ovary has no side when the exam closes."""
    if not facts.exam.closed:
        return
    for number, ovary in facts.ovaries:
        if ovary.side is None:
            name = spaced(ovary.structure)
            yield Raised(f"No side was said for: {name}.", (("structure", name),), (number,))
