"""Exams that come from a file instead of from speech: the event, and what it makes of a visit."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from dictation.session.effects import Alternative, Effect
from grammar.exam import Exam, RecordedFinding

if TYPE_CHECKING:
    from dictation.session.visit import Visit


@dataclass(frozen=True, slots=True)
class Asked:
    """A question that was open in a file, with what each answer does to the exam's findings."""

    question: str
    why: str
    alternatives: tuple[Alternative, ...] = ()
    no: Effect | None = None


@dataclass(frozen=True, slots=True)
class ExamTaken:
    """An exam was taken over as it stood in a file. ``source``: the folder it came from.

    Numbers of findings follow from utterances as elsewhere; ``questions`` were open there,
    ``asked`` are the same where they came with their answers. ``seen``: number of the last
    utterance that they use.
    """

    number: int
    tag: str | None
    started_at: str | None
    recorded: tuple[RecordedFinding, ...]
    questions: tuple[str, ...]
    seen: int
    source: str
    asked: tuple[Asked, ...] = ()


def take_over(visit: Visit, event: ExamTaken) -> Visit:
    """The visit with that exam behind the others, closed, and with its open questions."""
    from dictation.session.exams import put_exam, put_query, refreshed
    from dictation.session.visit import Query

    if visit.on_date is None:
        raise ValueError("the first event of a journal opens the visit")
    exam = Exam(
        number=event.number,
        on_date=visit.on_date,
        tag=event.tag,
        recorded=event.recorded,
        closed=True,
        herd_list_given=visit.herd_digest is not None,
        started_at=event.started_at,
    )
    visit = replace(
        visit,
        exams=(*visit.exams, exam),
        last_exam=max(visit.last_exam, event.number),
        last_utterance=max(visit.last_utterance, event.seen),
    )
    visit = refreshed(visit, event.number)
    looked_up = visit.exam(event.number)
    if looked_up is not None and looked_up.tag is None and event.tag is not None:
        # Known there by an electronic number alone, whose list is not at hand here.
        visit = put_exam(visit, replace(looked_up, tag=event.tag))
    unknown = f"it was open in {event.source}"
    questions = event.asked or tuple(Asked(words, unknown) for words in event.questions)
    for place, asked in enumerate(questions, start=1):
        query = Query(
            id=f"u{event.seen}.taken{place}",
            utterance=event.seen,
            exam=event.number,
            question=asked.question,
            why=asked.why,
            alternatives=asked.alternatives,
            no=asked.no,
        )
        visit = put_query(visit, query)
    return visit
