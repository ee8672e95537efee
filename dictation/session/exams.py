"""Exams are opened, closed, tagged and filled: pure steps from one visit to the next."""

from __future__ import annotations

from dataclasses import replace

from dictation.session.visit import Query, QueryState, Visit
from grammar.exam import Exam, FindingState, KnownAnimal, RecordedFinding
from grammar.findings import Animal, Finding


def put_exam(visit: Visit, exam: Exam) -> Visit:
    """The visit with that exam in the place of the one of its number."""
    exams = visit.exams
    # From the end: the exam in hand is nearly always the last.
    for place in range(len(exams) - 1, -1, -1):
        if exams[place].number == exam.number:
            return replace(visit, exams=(*exams[:place], exam, *exams[place + 1 :]))
    return visit


def open_exam(visit: Visit, started_at: str | None) -> Visit:
    """A new exam in hand, without a tag yet."""
    number = visit.last_exam + 1
    if visit.on_date is None:
        raise ValueError("the first event of a journal opens the visit")
    exam = Exam(
        number=number,
        on_date=visit.on_date,
        started_at=started_at,
        herd_list_given=visit.herd_digest is not None,
    )
    return replace(
        visit, exams=(*visit.exams, exam), in_hand=number, last_exam=number, closed=False
    )


def close_exam(visit: Visit) -> Visit:
    """No exam in hand. One in which nothing at all was said is dropped."""
    exam = visit.exam_in_hand
    if exam is None:
        return visit
    asked = any(q.exam == exam.number for q in visit.queries)
    if exam.recorded or asked:
        return replace(put_exam(visit, replace(exam, closed=True)), in_hand=None)
    return drop_exam(visit, exam.number)


def drop_exam(visit: Visit, number: int) -> Visit:
    """The visit without an empty exam. Its number is not given again."""
    exams = tuple(e for e in visit.exams if e.number != number)
    in_hand = None if visit.in_hand == number else visit.in_hand
    return replace(visit, exams=exams, in_hand=in_hand)


def add_finding(visit: Visit, recorded: RecordedFinding, exam_number: int) -> Visit:
    """The finding at the end of an exam."""
    exam = visit.exam(exam_number)
    if exam is None:
        return visit
    changed = replace(exam, recorded=(*exam.recorded, recorded))
    return _refreshed(visit, changed, isinstance(recorded.finding, Animal))


def put_finding(visit: Visit, recorded: RecordedFinding) -> Visit:
    """The finding in the place of the one of its number."""
    exam = visit.exam_of(recorded.number)
    if exam is None:
        return visit
    old = next(r for r in exam.recorded if r.number == recorded.number)
    changed = replace(exam, recorded=tuple(recorded if r is old else r for r in exam.recorded))
    is_animal = isinstance(recorded.finding, Animal) or isinstance(old.finding, Animal)
    return _refreshed(visit, changed, is_animal)


def set_state(visit: Visit, number: int, state: FindingState) -> Visit:
    """The finding in another state."""
    recorded = visit.recorded(number)
    if recorded is None or recorded.state is state:
        return visit
    return put_finding(visit, replace(recorded, state=state))


def set_value(visit: Visit, number: int, value: Finding, heard: str | None = None) -> Visit:
    """The finding with another value, as corrected; ``heard`` is added to its words."""
    recorded = visit.recorded(number)
    if recorded is None:
        return visit
    words = recorded.heard if heard is None else f"{recorded.heard}; {heard}"
    changed = replace(recorded, finding=value, state=FindingState.CORRECTED, heard=words)
    return put_finding(visit, changed)


def move_findings(visit: Visit, numbers: frozenset[int], to_exam: int) -> Visit:
    """The findings of these numbers, and the queries of their utterances, in another exam."""
    target = visit.exam(to_exam)
    if target is None or not numbers:
        return visit
    moved = tuple(r for e in visit.exams for r in e.recorded if r.number in numbers)
    for exam in visit.exams:
        if exam.number != to_exam and any(r.number in numbers for r in exam.recorded):
            left = tuple(r for r in exam.recorded if r.number not in numbers)
            visit = _refreshed(visit, replace(exam, recorded=left), True)
    stay = tuple(r for r in target.recorded if r.number not in numbers)
    filled = replace(target, recorded=tuple(sorted((*stay, *moved), key=lambda r: r.number)))
    return _refreshed(visit, filled, True)


def refreshed(visit: Visit, number: int) -> Visit:
    """The tag, the animal and the open questions of an exam, looked up again."""
    exam = visit.exam(number)
    return visit if exam is None else _with_open_questions(_refreshed(visit, exam, True), number)


def put_query(visit: Visit, query: Query) -> Visit:
    """The query in the place of the one of its id, or as the newest."""
    if visit.query(query.id) is None:
        queries = (*visit.queries, query)
    else:
        queries = tuple(query if q.id == query.id else q for q in visit.queries)
    return _with_open_questions(replace(visit, queries=queries), query.exam)


def requery(visit: Visit, exam: int, to_exam: int) -> Visit:
    """The queries of one exam belong to another."""
    queries = tuple(replace(q, exam=to_exam) if q.exam == exam else q for q in visit.queries)
    visit = _with_open_questions(replace(visit, queries=queries), exam)
    return _with_open_questions(visit, to_exam)


def known_animal(visit: Visit, animal: Animal) -> KnownAnimal | None:
    """What the herd list knows of an animal, by its tag or its electronic number."""
    for known in visit.herd:
        if animal.tag is not None and known.tag == animal.tag:
            return known
        if animal.electronic_id is not None and known.electronic_id == animal.electronic_id:
            return known
    return None


def renew_known(visit: Visit) -> Visit:
    """Look every animal up again, after a herd list came in."""
    for exam in visit.exams:
        listed = replace(exam, herd_list_given=visit.herd_digest is not None)
        visit = _refreshed(put_exam(visit, listed), listed, True)
    return visit


def tag_in_force(exam: Exam) -> str | None:
    """The tag of an exam: that of the last animal named in it that was not taken back."""
    tags = [r.finding.tag for r in exam.standing if isinstance(r.finding, Animal) and r.finding.tag]
    return tags[-1] if tags else None


def _with_open_questions(visit: Visit, exam_number: int | None) -> Visit:
    exam = visit.exam(exam_number)
    if exam is None:
        return visit
    questions = tuple(
        q.question for q in visit.queries if q.exam == exam_number and q.state is QueryState.OPEN
    )
    return put_exam(visit, replace(exam, open_queries=questions))


def _refreshed(visit: Visit, exam: Exam, animal_changed: bool) -> Visit:
    if not animal_changed:
        return put_exam(visit, exam)
    tag = tag_in_force(exam)
    electronic = [
        r.finding.electronic_id
        for r in exam.standing
        if isinstance(r.finding, Animal) and r.finding.electronic_id
    ]
    named = Animal(tag, electronic[-1] if electronic else None)
    known = known_animal(visit, named)
    if tag is None and known is not None:
        tag = known.tag
    return _same_tags(put_exam(visit, replace(exam, tag=tag, known=known)))


def _same_tags(visit: Visit) -> Visit:
    """Every exam knows which others carry its tag."""
    by_tag: dict[str, list[int]] = {}
    for exam in visit.exams:
        if exam.tag is not None:
            by_tag.setdefault(exam.tag, []).append(exam.number)
    for exam in visit.exams:
        same = () if exam.tag is None else tuple(n for n in by_tag[exam.tag] if n != exam.number)
        if same != exam.tag_repeated_in:
            visit = put_exam(visit, replace(exam, tag_repeated_in=same))
    return visit
