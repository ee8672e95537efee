"""Facts to a visit. There is no rule here: a fact says what changed, and it is so.

``apply`` refuses a fact that does not follow from the visit it is applied to, so none can count
twice and none can be left out unseen.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import Any

from immutables import Map

from dictation.visit import facts
from dictation.visit.herd_numbers import HerdNumbers
from dictation.visit.parts import Fate, Phrase, Placed, QueryState
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


def apply(visit: Visit, fact: facts.Fact) -> Visit:  # noqa: PLR0911 - one a kind
    """The visit after a fact. Raises DoesNotFollowError where it is about another visit."""
    if isinstance(fact, facts.Setting):
        _expect(isinstance(fact, facts.ExamSet) or visit.now(fact) == fact.was, fact)
        return _set_now(visit, fact)
    match fact:
        case facts.VisitOpened():
            _expect(visit.on_date is None, fact)
            return changed(visit, on_date=fact.on_date, farm=fact.farm)
        case facts.HerdListed():
            return _listed(visit, fact)
        case facts.RecordingOpened(digest, name, offset_s, started_at):
            _expect(all(r.digest != digest for r in visit.recordings), fact)
            heard = RecordingHeard(digest, name, offset_s, started_at, offset_s)
            return changed(visit, recordings=(*visit.recordings, heard))
        case facts.RecordingFinished(digest, until_s):
            known = visit.recordings
            _expect(any(r.digest == digest and not r.finished for r in known), fact)
            ended = tuple(replace(r, finished=True) if r.digest == digest else r for r in known)
            return _heard_until(changed(visit, recordings=ended), until_s)
        case facts.Captured():
            _expect(fact.phrase not in visit.spoken, fact)
            _expect(all(c.phrase != fact.phrase for c in visit.captured), fact)
            return _given(changed(visit, captured=(*visit.captured, fact)), "phrase", fact.phrase)
        case facts.Gap() | facts.Listened():
            return _heard_until(visit, fact.until_s)
        case _:
            return visit


def _set_now(visit: Visit, fact: facts.Setting) -> Visit:  # noqa: PLR0911 - one a kind
    match fact:
        case facts.GoingSet():
            return changed(visit, going=changed(visit.going, **{fact.slot: fact.now}))
        case facts.PhraseSet():
            return _phrase(visit, fact)
        case facts.FindingSet():
            return _finding(visit, fact)
        case facts.QuerySet():
            return _query(visit, fact)
        case facts.ExamSet():
            return _exam(visit, fact)
        case facts.ExamNamed():
            return _named(visit, fact)
        case facts.ExamClosed():
            return _set(visit, fact, fact.exam, closed=fact.now)
        case facts.TakenBack():
            taken_back = visit.index.taken_back.set(fact.entry, fact.now)
            return _indexed(visit, taken_back=taken_back)
        case facts.ApprovalSet():
            visit = changed(visit, approvals=_kept(visit.approvals, fact.exam, fact.now))
            exam = visit.exam(fact.exam)
            return visit if exam is None else _put(visit, exam)
        case _:
            raise TypeError(fact)


def _expect(is_so: bool, fact: facts.Fact) -> None:
    if not is_so:
        raise DoesNotFollowError(f"{fact} does not follow from what is there")


def _listed(visit: Visit, fact: facts.HerdListed) -> Visit:
    herd = Herd(fact.digest, fact.source, fact.animals, HerdNumbers(fact.animals))
    visit = changed(visit, herd_list=herd)
    for exam in visit.exams:
        known = None if exam.known is None else herd.numbers.written(exam.known.tag)
        visit = _put(visit, replace(exam, herd_list_given=True, known=known))
    return visit


def _phrase(visit: Visit, fact: facts.PhraseSet) -> Visit:
    visit = changed(visit, spoken=_kept(visit.spoken, fact.number, fact.now))
    phrase = fact.now
    if phrase is None or fact.was is not None:
        return visit
    visit = _indexed(visit, entries=visit.index.entries.set(phrase.number, visit.given.seq + 1))
    return visit if phrase.fate is Fate.INSERTED else _heard(visit, phrase)


def _heard(visit: Visit, phrase: Phrase) -> Visit:
    """How far the recording and the sound were heard with a new phrase."""
    until_s, line = phrase.until_s or 0.0, phrase.line or 0
    recordings = tuple(
        replace(
            heard,
            heard_until_s=max(heard.heard_until_s, until_s),
            lines_read=max(heard.lines_read, line),
        )
        if heard.digest == phrase.recording
        else heard
        for heard in visit.recordings
    )
    visit = changed(
        visit,
        recordings=recordings,
        captured=tuple(c for c in visit.captured if c.phrase != phrase.number),
        audio_until_s=max(visit.audio_until_s, until_s),
    )
    return _given(visit, "phrase", phrase.number)


def _heard_until(visit: Visit, until_s: float) -> Visit:
    return changed(visit, audio_until_s=max(visit.audio_until_s, until_s))


def _exam(visit: Visit, fact: facts.ExamSet) -> Visit:
    exam, exams = visit.exam(fact.number), visit.exams
    if fact.now is None:
        _expect(exam is not None and not exam.recorded and exam.tag is None, fact)
        visit = changed(visit, exams=tuple(e for e in exams if e.number != fact.number))
        last = visit.given.exam if fact.last is None else fact.last
        return changed(visit, given=changed(visit.given, exam=last))
    if exam is not None or visit.on_date is None:
        raise DoesNotFollowError(f"{fact} does not follow from what is there")
    exam = Exam(
        number=fact.number,
        on_date=visit.on_date,
        started_at=fact.now.started_at,
        herd_list_given=visit.herd_list is not None,
    )
    place = _place([e.number for e in exams], fact.number, fact.now.after)
    visit = changed(visit, exams=(*exams[:place], exam, *exams[place:]))
    return _given(visit, "exam", fact.number)


def _place(numbers: list[int], number: int, after: int | None) -> int:
    """Where in the order of the visit an exam stands."""
    if after is None:
        return 0
    if after in numbers:
        return numbers.index(after) + 1
    return sum(other < number for other in numbers)


def _named(visit: Visit, fact: facts.ExamNamed) -> Visit:
    was, now, tags = fact.was.tag, fact.now.tag, visit.index.tags
    known = None
    if fact.now.listed_as is not None and visit.herd_list is not None:
        known = visit.numbers.written(fact.now.listed_as)
    visit = _set(visit, fact, fact.exam, tag=now, known=known, tag_repeated_in=())
    if was is not None:
        tags = _listing(tags, was, fact.exam, False)
    if now is not None:
        tags = tags.set(now, tuple(sorted((*tags.get(now, ()), fact.exam))))
    visit = _indexed(visit, tags=tags)
    # Each exam knows which others carry its tag.
    for alike in (tags.get(tag, ()) for tag in (was, now) if tag is not None):
        for number in alike:
            others = tuple(n for n in alike if n != number)
            visit = _set(visit, fact, number, tag_repeated_in=others)
    return visit


def _finding(visit: Visit, fact: facts.FindingSet) -> Visit:
    was, now = fact.was, fact.now
    if was is not None and (now is None or now.exam != was.exam):
        visit = _set(visit, fact, was.exam, recorded=_others(visit, was))
    if now is not None:
        # They stand in the order in which they were recorded.
        recorded = sorted((*_others(visit, now), now.recorded), key=lambda r: r.number)
        visit = _set(visit, fact, now.exam, recorded=tuple(recorded))
    if was is None or now is None or was.exam != now.exam:
        exam = None if now is None else now.exam
        visit = _indexed(visit, places=_kept(visit.index.places, fact.number, exam))
    there = was or now
    if there is not None and there.recorded.phrase is not None and (was is None or now is None):
        made = _listing(visit.index.made, there.recorded.phrase, fact.number, now is not None)
        visit = _indexed(visit, made=made)
    return _given(visit, "finding", fact.number)


def _others(visit: Visit, placed: Placed) -> tuple[RecordedFinding, ...]:
    exam = visit.exam(placed.exam)
    recorded = () if exam is None else exam.recorded
    return tuple(r for r in recorded if r.number != placed.recorded.number)


def _query(visit: Visit, fact: facts.QuerySet) -> Visit:
    was, now = fact.was, fact.now
    visit = changed(visit, all_queries=_kept(visit.all_queries, fact.id, now))
    there = was or now
    if there is not None and (was is None or now is None):
        raised = _listing(visit.index.raised, there.phrase, fact.id, now is not None)
        visit = _indexed(visit, raised=raised)
    for exam in dict.fromkeys(q.exam for q in (was, now) if q is not None):
        open_here = now is not None and now.exam == exam and now.state is QueryState.OPEN
        visit = _waiting(visit, fact, exam, open_here)
    return visit if now is None else _given(visit, "query", now.order)


def _waiting(visit: Visit, fact: facts.QuerySet, exam: int | None, open_here: bool) -> Visit:
    """The open queries of an exam, oldest first."""
    asked = _listing(visit.index.asked, exam, fact.id, open_here)
    ids = tuple(sorted(asked[exam], key=lambda i: visit.all_queries[i].order))
    visit = _indexed(visit, asked=asked.set(exam, ids))
    if visit.exam(exam) is None or exam is None:
        return visit
    questions = tuple(visit.all_queries[i].question for i in ids)
    return _set(visit, fact, exam, open_queries=questions)


def _set(visit: Visit, fact: facts.Fact, number: int, **fields: Any) -> Visit:
    """An exam with other fields."""
    exam = visit.exam(number)
    if exam is None:
        raise DoesNotFollowError(f"{fact} is about an exam that is not there")
    return _put(visit, replace(exam, **fields))


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
    place = next(p for p in range(len(exams) - 1, -1, -1) if exams[p].number == exam.number)
    return changed(visit, exams=(*exams[:place], exam, *exams[place + 1 :]))


def _given(visit: Visit, slot: str, number: int) -> Visit:
    """No number is given twice."""
    if number <= getattr(visit.given, slot):
        return visit
    return changed(visit, given=changed(visit.given, **{slot: number}))


def _indexed(visit: Visit, **maps: Map[Any, Any]) -> Visit:
    return changed(visit, index=changed(visit.index, **maps))


def _kept(known: Map[Any, Any], key: object, now: object) -> Map[Any, Any]:
    return known.delete(key) if now is None else known.set(key, now)


def _listing(known: Map[Any, Any], key: object, item: object, is_in: bool) -> Map[Any, Any]:
    """The items of a key, with this one last, or without it."""
    others = tuple(each for each in known.get(key, ()) if each != item)
    return known.set(key, (*others, item) if is_in else others)
