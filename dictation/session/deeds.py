"""What a person's event changed, kept so that it can be taken back; and what an approval covers.

An undo does not erase: it is an event of its own, which puts back what the other one changed as
long as nothing has changed it since. What was said in between keeps the meaning it had.
"""

from __future__ import annotations

from dataclasses import replace

from dictation.session.events import Entry
from dictation.session.exams import refreshed
from dictation.session.visit import Change, Deed, Place, Query, Visit
from grammar.exam import Exam, FindingState
from grammar.findings import Finding


def with_deed(before: Visit, after: Visit, entry: Entry, who: str, why: str) -> Visit:
    """The visit with what the event changed on record; unchanged where it changed nothing."""
    deed = Deed(
        seq=entry.seq,
        at=entry.at,
        who=who,
        why=why,
        event=entry.event,
        findings=_findings(before, after),
        queries=_queries(before, after),
        exams=_exams(before, after),
        utterances=_utterances(before, after),
        in_hand=(before.in_hand, after.in_hand),
        approved=(before.approved, after.approved),
        visit_approved=(before.visit_approved, after.visit_approved),
    )
    return replace(after, deeds=(*after.deeds, deed)) if _did_something(deed) else after


def still_approved(before: Visit, after: Visit) -> Visit:
    """Who approved an exam stood for it as it was then: where it changed, nobody stands for it."""
    if not after.approved and not after.visit_approved:
        return after
    was = {exam.number: exam for exam in before.exams}
    changed = {
        exam.number
        for exam in after.exams
        if exam.number in was and not _alike(was[exam.number], exam)
    }
    changed |= {exam.number for exam in after.exams} ^ set(was)
    if not changed:
        return after
    approved = tuple(number for number in after.approved if number not in changed)
    return replace(after, approved=approved, visit_approved=False)


def deed_of(visit: Visit, seq: int) -> Deed | None:
    """What event ``seq`` of a person changed; None where there is no such event."""
    return next((deed for deed in reversed(visit.deeds) if deed.seq == seq), None)


def why_not_undone(visit: Visit, seq: int) -> str | None:
    """Why event ``seq`` cannot be taken back; None where it can."""
    deed = deed_of(visit, seq)
    if deed is None:
        return "There is no such correction."
    if deed.undone:
        return "It was taken back already."
    if any(place_of(visit, number) != after for number, _, after in deed.findings):
        return "What it changed was changed again since: take that back first."
    if any(visit.query(query_id) != after for query_id, _, after in deed.queries):
        return "The question was answered otherwise since: take that back first."
    return _why_exams_stay(visit, deed)


def _why_exams_stay(visit: Visit, deed: Deed) -> str | None:
    mine = {number for number, _, _ in deed.findings}
    for number, before, _ in deed.exams:
        exam = visit.exam(number)
        if before is None and exam is None:
            return "That animal is not there any more."
        if exam is not None and any(r.number not in mine for r in exam.recorded):
            return "More was recorded of that animal since: move it first."
    return None


def undo(visit: Visit, seq: int, who: str, at: str) -> Visit:
    """What event ``seq`` changed is as it was before; nothing happens where that cannot be."""
    deed = deed_of(visit, seq)
    if deed is None or why_not_undone(visit, seq) is not None:
        return visit
    visit = _exams_back(visit, deed)
    visit = _findings_back(visit, deed)
    visit = _queries_back(visit, deed)
    visit = _the_rest_back(visit, deed)
    concerned = {place[0] for _, *both in deed.findings for place in both if place is not None}
    for number in sorted(concerned | {number for number, _, _ in deed.exams}):
        visit = refreshed(visit, number)
    changes = tuple(
        Change(number, _value(after), _value(before), who, "taken back", at)
        for number, before, after in deed.findings
        if _value(before) != _value(after)
    )
    deeds = tuple(replace(d, undone=True) if d.seq == seq else d for d in visit.deeds)
    return replace(visit, deeds=deeds, changes=(*visit.changes, *changes))


def last_to_undo(visit: Visit) -> Deed | None:
    """The last event of a person that was not taken back and is no taking back itself."""
    from dictation.session.review_events import Undone

    return next(
        (d for d in reversed(visit.deeds) if not d.undone and not isinstance(d.event, Undone)), None
    )


def place_of(visit: Visit, number: int) -> Place | None:
    """A finding and the exam it is in; None where there is none of that number."""
    exam = visit.exam_of(number)
    if exam is None:
        return None
    return exam.number, next(r for r in exam.recorded if r.number == number)


def _alike(one: Exam, other: Exam) -> bool:
    return one.recorded == other.recorded and one.tag == other.tag


def _did_something(deed: Deed) -> bool:
    return bool(
        deed.findings
        or deed.queries
        or deed.exams
        or deed.utterances
        or deed.approved[0] != deed.approved[1]
        or deed.visit_approved[0] != deed.visit_approved[1]
    )


def _places(exams: tuple[Exam, ...]) -> dict[int, Place]:
    return {r.number: (exam.number, r) for exam in exams for r in exam.recorded}


def _findings(before: Visit, after: Visit) -> tuple[tuple[int, Place | None, Place | None], ...]:
    same = {id(exam) for exam in before.exams} & {id(exam) for exam in after.exams}
    old = _places(tuple(e for e in before.exams if id(e) not in same))
    new = _places(tuple(e for e in after.exams if id(e) not in same))
    numbers = sorted(old.keys() | new.keys())
    return tuple((n, old.get(n), new.get(n)) for n in numbers if old.get(n) != new.get(n))


def _queries(before: Visit, after: Visit) -> tuple[tuple[str, Query | None, Query | None], ...]:
    old = {query.id: query for query in before.queries}
    new = {query.id: query for query in after.queries}
    ids = [*old, *(each for each in new if each not in old)]
    return tuple((i, old.get(i), new.get(i)) for i in ids if old.get(i) != new.get(i))


def _exams(before: Visit, after: Visit) -> tuple[tuple[int, Exam | None, Exam | None], ...]:
    old = {exam.number: exam for exam in before.exams}
    new = {exam.number: exam for exam in after.exams}
    return tuple((n, old.get(n), new.get(n)) for n in sorted(old.keys() ^ new.keys()))


def _utterances(before: Visit, after: Visit) -> tuple[tuple[int, int | None, int | None], ...]:
    if before.utterances is after.utterances:
        return ()
    old = {u.number: u.exam for u in before.utterances}
    return tuple(
        (u.number, old[u.number], u.exam)
        for u in after.utterances
        if u.number in old and old[u.number] != u.exam
    )


def _value(place: Place | None) -> Finding | None:
    if place is None or place[1].state is FindingState.WITHDRAWN:
        return None
    return place[1].finding


def _exams_back(visit: Visit, deed: Deed) -> Visit:
    for number, before, _ in deed.exams:
        if before is None:
            exams = tuple(e for e in visit.exams if e.number != number)
            visit = replace(visit, exams=exams)
            continue
        empty = replace(before, recorded=(), open_queries=())
        place = sum(e.number < number for e in visit.exams)
        visit = replace(visit, exams=(*visit.exams[:place], empty, *visit.exams[place:]))
    return visit


def _findings_back(visit: Visit, deed: Deed) -> Visit:
    numbers = {number for number, _, _ in deed.findings}
    exams = []
    for exam in visit.exams:
        kept = [r for r in exam.recorded if r.number not in numbers]
        put = [p[1] for _, p, _ in deed.findings if p is not None and p[0] == exam.number]
        if put or len(kept) != len(exam.recorded):
            recorded = tuple(sorted((*kept, *put), key=lambda r: r.number))
            exams.append(replace(exam, recorded=recorded))
        else:
            exams.append(exam)
    return replace(visit, exams=tuple(exams))


def _queries_back(visit: Visit, deed: Deed) -> Visit:
    was = {query_id: before for query_id, before, _ in deed.queries}
    queries = tuple(back for q in visit.queries if (back := was.get(q.id, q)) is not None)
    return replace(visit, queries=queries)


def _the_rest_back(visit: Visit, deed: Deed) -> Visit:
    was = {number: before for number, before, _ in deed.utterances}
    utterances = tuple(
        replace(u, exam=was[u.number]) if u.number in was else u for u in visit.utterances
    )
    in_hand = visit.in_hand
    if in_hand == deed.in_hand[1] and visit.exam(deed.in_hand[0]) is not None:
        in_hand = deed.in_hand[0]
    if visit.exam(in_hand) is None:
        in_hand = None
    approved, visit_approved = _approvals_back(visit, deed)
    return replace(
        visit,
        utterances=utterances,
        in_hand=in_hand,
        approved=approved,
        visit_approved=visit_approved,
    )


def _approvals_back(visit: Visit, deed: Deed) -> tuple[tuple[int, ...], bool]:
    """Only an approval itself is taken back; one that fell must be given again."""
    before, after = deed.approved
    given = set(after) - set(before)
    approved = tuple(number for number in visit.approved if number not in given)
    return approved, visit.visit_approved and deed.visit_approved != (False, True)
