"""What a step changed, as events for the screen and for JSON Lines."""

from __future__ import annotations

from dataclasses import dataclass, field

from dictation.session.visit import Query, QueryState, Utterance, Visit
from grammar.exam import Exam, Flag, RecordedFinding
from grammar.findings import finding_record


@dataclass(frozen=True, slots=True)
class Happening:
    """One thing that happened. ``kind``: heard, finding, query, flag, exam_closed, visit_closed.

    ``at_s``, ``until_s``: seconds of the visit's audio, None where nothing was spoken. ``more``:
    what belongs to the kind.
    """

    kind: str
    text: str
    at_s: float | None = None
    until_s: float | None = None
    confidence: float | None = None
    alternatives: tuple[str, ...] = ()
    more: dict[str, object] = field(default_factory=dict)

    def record(self) -> dict[str, object]:
        """As one line of ``--json``."""
        return {
            "event": self.kind,
            "at_s": self.at_s,
            "until_s": self.until_s,
            "text": self.text,
            "confidence": self.confidence,
            "alternatives": list(self.alternatives),
            **self.more,
        }


Flags = dict[int, tuple[Flag, ...]]


def happenings(
    before: Visit, after: Visit, flags_before: Flags, flags_after: Flags
) -> tuple[Happening, ...]:
    """What happened from one visit to the next, in the order in which a person wants it."""
    found: list[Happening] = []
    utterance = None
    if len(after.utterances) > len(before.utterances):
        utterance = after.utterances[-1]
        found.append(_heard(utterance, after))
    old = {id(exam) for exam in before.exams}
    for exam in after.exams:
        if id(exam) not in old:
            found += _findings(before, exam)
    found += _queries(before, after, utterance)
    for exam in after.exams:
        if exam.closed and not _was_closed(before, exam.number):
            found.append(_closed(exam, utterance))
    found += _flags(after, flags_before, flags_after, utterance)
    if after.closed and not before.closed:
        found.append(Happening("visit_closed", f"{len(after.exams)} animals", after.audio_until_s))
    return tuple(found)


def _heard(utterance: Utterance, visit: Visit) -> Happening:
    return Happening(
        "heard",
        utterance.text,
        utterance.at_s,
        utterance.until_s,
        utterance.confidence,
        (),
        {
            "utterance": utterance.number,
            "fate": str(utterance.fate),
            "exam": utterance.exam,
            "audio": utterance.audio,
            "doubts": list(utterance.doubts),
            "reply": visit.reply,
        },
    )


def _findings(before: Visit, exam: Exam) -> list[Happening]:
    return [
        _finding(recorded, exam)
        for recorded in exam.recorded
        if before.recorded(recorded.number) != recorded
    ]


def _finding(recorded: RecordedFinding, exam: Exam) -> Happening:
    return Happening(
        "finding",
        recorded.heard,
        recorded.at_s,
        recorded.until_s,
        recorded.confidence,
        (),
        {
            "number": recorded.number,
            "exam": exam.number,
            "tag": exam.tag,
            "state": str(recorded.state),
            "finding": finding_record(recorded.finding),
        },
    )


def _queries(before: Visit, after: Visit, utterance: Utterance | None) -> list[Happening]:
    known = {q.id: q for q in before.queries}
    return [_query(q, utterance) for q in after.queries if known.get(q.id) != q]


def _query(query: Query, utterance: Utterance | None) -> Happening:
    return Happening(
        "query",
        query.question,
        None if utterance is None else utterance.at_s,
        None if utterance is None else utterance.until_s,
        None,
        tuple(a.words for a in query.alternatives),
        {
            "id": query.id,
            "exam": query.exam,
            "why": query.why,
            "state": str(query.state),
            "answer": query.answer if query.state is not QueryState.OPEN else None,
        },
    )


def _was_closed(visit: Visit, number: int) -> bool:
    exam = visit.exam(number)
    return exam is not None and exam.closed


def _closed(exam: Exam, utterance: Utterance | None) -> Happening:
    return Happening(
        "exam_closed",
        exam.tag or "",
        None if utterance is None else utterance.at_s,
        None if utterance is None else utterance.until_s,
        None,
        (),
        {"exam": exam.number, "tag": exam.tag, "open_queries": list(exam.open_queries)},
    )


def _flags(
    visit: Visit, before: Flags, after: Flags, utterance: Utterance | None
) -> list[Happening]:
    raised: list[Happening] = []
    for number, flags in after.items():
        known = before.get(number, ())
        exam = visit.exam(number)
        for flag in flags:
            if flag not in known:
                raised.append(_flag(number, exam, flag, utterance))
    return raised


def flag_record(number: int, tag: str | None, flag: Flag) -> dict[str, object]:
    """A flag as ``check --json`` writes it."""
    return {
        "exam": number,
        "tag": tag,
        "rule": flag.rule,
        "severity": str(flag.severity),
        "why": flag.why,
        "figures": dict(flag.figures),
        "source": flag.source,
    }


def _flag(number: int, exam: Exam | None, flag: Flag, utterance: Utterance | None) -> Happening:
    return Happening(
        "flag",
        flag.why,
        None if utterance is None else utterance.at_s,
        None if utterance is None else utterance.until_s,
        None,
        (),
        flag_record(number, None if exam is None else exam.tag, flag),
    )
