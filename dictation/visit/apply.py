"""Facts to a visit. There is no rule here: a fact says what changed, and it is so.

``apply`` refuses a fact that does not follow from the visit it is applied to, so none can count
twice and none can be left out unseen.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from typing import Any

from immutables import Map

from dictation.visit.facts import (
    ApprovalSet,
    Captured,
    ExamClosed,
    ExamNamed,
    ExamSet,
    Fact,
    FindingSet,
    Gap,
    GoingSet,
    HerdListed,
    Listened,
    PhraseSet,
    QuerySet,
    RecordingFinished,
    RecordingOpened,
    Spoke,
    TakenBack,
    VisitOpened,
)
from dictation.visit.parts import Fate, Frame, Name, Phrase, Placed, Query, QueryState
from dictation.visit.state import Act, Herd, RecordingHeard, Visit, changed
from dictation.visit.words import digest_of
from grammar.exam import Approved, Exam, RecordedFinding


class DoesNotFollowError(ValueError):
    """A fact says that something was otherwise than it is."""


def fold(acts: Iterable[Act], visit: Visit | None = None) -> Visit:
    """The visit after all of these entries, on top of what ``visit`` was before them."""
    visit = visit or Visit()
    for act in acts:
        visit = after(visit, act)
    return visit


def after(visit: Visit, act: Act) -> Visit:
    """The visit after one more entry of the journal. Raises DoesNotFollowError."""
    if act.seq != visit.given.seq + 1:
        raise DoesNotFollowError(f"entry {act.seq} does not follow entry {visit.given.seq}")
    for fact in act.facts:
        visit = apply(visit, fact)
    given = changed(visit.given, seq=act.seq)
    return changed(visit, acts=visit.acts.set(act.seq, act), given=given)


def apply(visit: Visit, fact: Fact) -> Visit:
    """The visit after a fact. Raises DoesNotFollowError where it is about another visit."""
    return _APPLY[type(fact)](visit, fact)


def _expect(is_so: bool, fact: Fact) -> None:
    if not is_so:
        raise DoesNotFollowError(f"{fact} does not follow from what is there")


def _there(visit: Visit, number: int, fact: Fact) -> Exam:
    exam = visit.exam(number)
    if exam is None:
        raise DoesNotFollowError(f"{fact} is about an exam that is not there")
    return exam


def _opened(visit: Visit, fact: VisitOpened) -> Visit:
    _expect(visit.on_date is None, fact)
    return changed(visit, on_date=fact.on_date, farm=fact.farm)


def _listed(visit: Visit, fact: HerdListed) -> Visit:
    by_tag = {known.tag: known for known in reversed(fact.animals)}
    herd = Herd(fact.digest, fact.source, fact.animals, Map(by_tag))
    visit = changed(visit, herd_list=herd)
    for exam in visit.exams:
        known = None if exam.known is None else herd.by_tag.get(exam.known.tag)
        visit = _put(visit, replace(exam, herd_list_given=True, known=known))
    return visit


def _recording_opened(visit: Visit, fact: RecordingOpened) -> Visit:
    _expect(all(r.digest != fact.digest for r in visit.recordings), fact)
    heard = RecordingHeard(fact.digest, fact.name, fact.offset_s, fact.started_at, fact.offset_s)
    return changed(visit, recordings=(*visit.recordings, heard))


def _recording_finished(visit: Visit, fact: RecordingFinished) -> Visit:
    _expect(any(r.digest == fact.digest and not r.finished for r in visit.recordings), fact)
    visit = _recordings(visit, fact.digest, lambda heard: replace(heard, finished=True))
    return changed(visit, audio_until_s=max(visit.audio_until_s, fact.until_s))


def _captured(visit: Visit, fact: Captured) -> Visit:
    _expect(fact.phrase not in visit.spoken, fact)
    _expect(all(c.phrase != fact.phrase for c in visit.captured), fact)
    given = changed(visit.given, phrase=max(visit.given.phrase, fact.phrase))
    return changed(visit, captured=(*visit.captured, fact), given=given)


def _until(visit: Visit, fact: Gap | Listened) -> Visit:
    return changed(visit, audio_until_s=max(visit.audio_until_s, fact.until_s))


def _spoke(visit: Visit, fact: Spoke) -> Visit:
    return visit


def _phrase(visit: Visit, fact: PhraseSet) -> Visit:
    _expect(visit.spoken.get(fact.number) == fact.was, fact)
    if fact.now is None:
        return changed(visit, spoken=visit.spoken.delete(fact.number))
    visit = changed(visit, spoken=visit.spoken.set(fact.number, fact.now))
    return visit if fact.was is not None else _heard(visit, fact.now)


def _heard(visit: Visit, phrase: Phrase) -> Visit:
    """How far the recording and the sound were heard with a new phrase."""
    entries = visit.index.entries.set(phrase.number, visit.given.seq + 1)
    visit = changed(visit, index=changed(visit.index, entries=entries))
    if phrase.fate is Fate.INSERTED:
        return visit
    if phrase.recording is not None:
        until_s, line = phrase.until_s or 0.0, phrase.line or 0
        visit = _recordings(
            visit,
            phrase.recording,
            lambda heard: replace(
                heard,
                heard_until_s=max(heard.heard_until_s, until_s),
                lines_read=max(heard.lines_read, line),
            ),
        )
    return changed(
        visit,
        captured=tuple(c for c in visit.captured if c.phrase != phrase.number),
        audio_until_s=max(visit.audio_until_s, phrase.until_s or 0.0),
        given=changed(visit.given, phrase=max(visit.given.phrase, phrase.number)),
    )


def _exam(visit: Visit, fact: ExamSet) -> Visit:
    there = visit.exam(fact.number)
    if fact.now is None:
        _expect(there is not None and not there.recorded and there.tag is None, fact)
        given = visit.given
        given = given if fact.last is None else changed(given, exam=fact.last)
        exams = tuple(e for e in visit.exams if e.number != fact.number)
        return changed(visit, exams=exams, given=given)
    _expect(there is None and visit.on_date is not None, fact)
    given = changed(visit.given, exam=max(visit.given.exam, fact.number))
    place = _place(visit, fact.number, fact.now)
    exam = _framed(visit, fact.number, fact.now)
    return changed(visit, exams=(*visit.exams[:place], exam, *visit.exams[place:]), given=given)


def _framed(visit: Visit, number: int, frame: Frame) -> Exam:
    assert visit.on_date is not None
    return Exam(
        number=number,
        on_date=visit.on_date,
        started_at=frame.started_at,
        herd_list_given=visit.herd_list is not None,
    )


def _place(visit: Visit, number: int, frame: Frame) -> int:
    """Where in the order of the visit an exam stands."""
    numbers = [exam.number for exam in visit.exams]
    if frame.after is None:
        return 0
    if frame.after in numbers:
        return numbers.index(frame.after) + 1
    return sum(other < number for other in numbers)


def _named(visit: Visit, fact: ExamNamed) -> Visit:
    exam = _there(visit, fact.exam, fact)
    known_as = None if exam.known is None else exam.known.tag
    _expect(Name(exam.tag, known_as) == fact.was, fact)
    known = None
    if fact.now.listed_as is not None and visit.herd_list is not None:
        known = visit.herd_list.by_tag.get(fact.now.listed_as)
    visit = _put(visit, replace(exam, tag=fact.now.tag, known=known))
    tags = visit.index.tags
    if fact.was.tag is not None:
        left = tuple(n for n in tags.get(fact.was.tag, ()) if n != fact.exam)
        tags = tags.set(fact.was.tag, left)
    if fact.now.tag is not None:
        tags = tags.set(fact.now.tag, tuple(sorted((*tags.get(fact.now.tag, ()), fact.exam))))
    visit = changed(visit, index=changed(visit.index, tags=tags))
    return _repeated(visit, fact.exam, fact.was, fact.now)


def _repeated(visit: Visit, named: int, was: Name, now: Name) -> Visit:
    """Each exam knows which others carry its tag."""
    for tag in {was.tag, now.tag} - {None}:
        alike = visit.index.tags.get(tag, ())  # type: ignore[arg-type]
        for number in alike:
            exam = visit.exam(number)
            others = tuple(n for n in alike if n != number)
            if exam is not None and exam.tag_repeated_in != others:
                visit = _put(visit, replace(exam, tag_repeated_in=others))
    exam = visit.exam(named)
    if now.tag is None and exam is not None and exam.tag_repeated_in:
        visit = _put(visit, replace(exam, tag_repeated_in=()))
    return visit


def _closed(visit: Visit, fact: ExamClosed) -> Visit:
    exam = _there(visit, fact.exam, fact)
    _expect(exam.closed == fact.was, fact)
    return _put(visit, replace(exam, closed=fact.now))


def _finding(visit: Visit, fact: FindingSet) -> Visit:
    _expect(visit.placed(fact.number) == fact.was, fact)
    was, now = fact.was, fact.now
    index = visit.index
    if was is not None and (now is None or now.exam != was.exam):
        exam = _there(visit, was.exam, fact)
        left = tuple(r for r in exam.recorded if r.number != fact.number)
        visit = _put(visit, replace(exam, recorded=left))
    if now is None:
        index = changed(index, places=index.places.delete(fact.number))
    else:
        exam = _there(visit, now.exam, fact)
        visit = _put(visit, replace(exam, recorded=_with(exam.recorded, now.recorded)))
        if was is None or was.exam != now.exam:
            index = changed(index, places=index.places.set(fact.number, now.exam))
    index = _made(index, fact, was, now)
    given = visit.given
    if fact.number > given.finding:
        given = changed(given, finding=fact.number)
    return changed(visit, index=index, given=given)


def _made(index: Any, fact: FindingSet, was: Placed | None, now: Placed | None) -> Any:
    there = was or now
    phrase = None if there is None else there.recorded.phrase
    if phrase is None or (was is None) == (now is None):
        return index
    made = tuple(n for n in index.made.get(phrase, ()) if n != fact.number)
    if now is not None:
        made = (*made, fact.number)
    return changed(index, made=index.made.set(phrase, made))


def _with(
    recorded: tuple[RecordedFinding, ...], one: RecordedFinding
) -> tuple[RecordedFinding, ...]:
    """The finding in its place: findings stand in the order in which they were recorded."""
    if not recorded or recorded[-1].number < one.number:
        return (*recorded, one)
    if any(r.number == one.number for r in recorded):
        return tuple(one if r.number == one.number else r for r in recorded)
    return tuple(sorted((*recorded, one), key=lambda r: r.number))


def _query(visit: Visit, fact: QuerySet) -> Visit:
    _expect(visit.all_queries.get(fact.id) == fact.was, fact)
    was, now, queries = fact.was, fact.now, visit.all_queries
    queries = queries.delete(fact.id) if now is None else queries.set(fact.id, now)
    visit = changed(visit, all_queries=queries)
    if was is None or now is None:
        phrase = (was or now).phrase  # type: ignore[union-attr]
        raised = tuple(i for i in visit.index.raised.get(phrase, ()) if i != fact.id)
        raised = raised if now is None else (*raised, fact.id)
        index = changed(visit.index, raised=visit.index.raised.set(phrase, raised))
        visit = changed(visit, index=index)
    if now is not None and now.order > visit.given.query:
        visit = changed(visit, given=changed(visit.given, query=now.order))
    for exam in dict.fromkeys(q.exam for q in (was, now) if q is not None):
        visit = _waiting(visit, exam, fact.id, now)
    return visit


def _waiting(visit: Visit, exam_number: int | None, query_id: str, now: Query | None) -> Visit:
    """The open queries of an exam, oldest first."""
    ids = [i for i in visit.index.asked.get(exam_number, ()) if i != query_id]
    if now is not None and now.exam == exam_number and now.state is QueryState.OPEN:
        ids.append(query_id)
        ids.sort(key=lambda i: visit.all_queries[i].order)
    asked = visit.index.asked.set(exam_number, tuple(ids))
    visit = changed(visit, index=changed(visit.index, asked=asked))
    exam = visit.exam(exam_number)
    if exam is None:
        return visit
    questions = tuple(visit.all_queries[i].question for i in ids)
    return _put(visit, replace(exam, open_queries=questions))


def _approval(visit: Visit, fact: ApprovalSet) -> Visit:
    _expect(visit.approvals.get(fact.exam) == fact.was, fact)
    if fact.now is None:
        approvals = visit.approvals.delete(fact.exam)
    else:
        approvals = visit.approvals.set(fact.exam, fact.now)
    visit = changed(visit, approvals=approvals)
    exam = visit.exam(fact.exam)
    return visit if exam is None else _put(visit, exam)


def _going(visit: Visit, fact: GoingSet) -> Visit:
    _expect(getattr(visit.going, fact.slot) == fact.was, fact)
    slot: dict[str, Any] = {fact.slot: fact.now}
    return changed(visit, going=changed(visit.going, **slot))


def _taken_back(visit: Visit, fact: TakenBack) -> Visit:
    _expect(visit.index.taken_back.get(fact.entry, 0) == fact.was, fact)
    taken_back = visit.index.taken_back.set(fact.entry, fact.now)
    return changed(visit, index=changed(visit.index, taken_back=taken_back))


def _put(visit: Visit, exam: Exam) -> Visit:
    """The exam in the place of the one of its number; who approved it stands for what was seen."""
    approval = visit.approvals.get(exam.number)
    stamp: Approved | None = None
    if approval is not None and digest_of(exam, approval.stamp.flags) == approval.digest:
        stamp = approval.stamp
    if exam.approved is not stamp:
        exam = replace(exam, approved=stamp)
    exams = visit.exams
    # From the end: the exam in hand is nearly always the last.
    for place in range(len(exams) - 1, -1, -1):
        if exams[place].number == exam.number:
            return changed(visit, exams=(*exams[:place], exam, *exams[place + 1 :]))
    return visit


def _recordings(
    visit: Visit, digest: str, change: Callable[[RecordingHeard], RecordingHeard]
) -> Visit:
    recordings = tuple(change(r) if r.digest == digest else r for r in visit.recordings)
    return changed(visit, recordings=recordings)


_APPLY: dict[type[Fact], Callable[[Visit, Any], Visit]] = {
    VisitOpened: _opened,
    HerdListed: _listed,
    RecordingOpened: _recording_opened,
    RecordingFinished: _recording_finished,
    Captured: _captured,
    Gap: _until,
    Listened: _until,
    Spoke: _spoke,
    PhraseSet: _phrase,
    ExamSet: _exam,
    ExamNamed: _named,
    ExamClosed: _closed,
    FindingSet: _finding,
    QuerySet: _query,
    ApprovalSet: _approval,
    GoingSet: _going,
    TakenBack: _taken_back,
}
