"""What happened, for the screen, the voice and JSON Lines: made of the facts of one entry."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from typing import Any

from dictation.decide.record import Step
from dictation.visit.facts import ExamClosed, Fact, FindingSet, GoingSet, PhraseSet, QuerySet
from dictation.visit.parts import Fate, Phrase, Placed, Query, QueryState
from grammar.exam import Exam, Flag, Severity
from grammar.findings import finding_record

Record = dict[str, object]
At = tuple[float | None, float | None]


@dataclass(frozen=True, slots=True)
class Spoken:
    """A phrase was taken. ``since_voice_s``, ``since_end_s``: how long that took, when live."""

    phrase: Phrase
    reply: str
    since_voice_s: float | None = None
    since_end_s: float | None = None


@dataclass(frozen=True, slots=True)
class Found:
    """A finding was recorded, changed, moved or withdrawn."""

    placed: Placed
    tag: str | None


@dataclass(frozen=True, slots=True)
class Questioned:
    """Something was asked, or a question was answered or fell away."""

    query: Query
    at: At = (None, None)

    @property
    def is_open(self) -> bool:
        """Whether it waits for an answer."""
        return self.query.state is QueryState.OPEN


@dataclass(frozen=True, slots=True)
class Closed:
    """An exam was closed."""

    exam: Exam
    at: At = (None, None)


@dataclass(frozen=True, slots=True)
class Flagged:
    """A check raised a flag."""

    number: int
    tag: str | None
    flag: Flag
    at: At = (None, None)

    @property
    def stops(self) -> bool:
        """Whether it must be said twice."""
        return self.flag.severity is Severity.STOP


@dataclass(frozen=True, slots=True)
class Ended:
    """The visit was closed."""

    animals: int
    at_s: float


@dataclass(frozen=True, slots=True)
class Unspoken:
    """Stations of the sweep that nothing was said of, named as their animal is left."""

    sentence: str
    exam: int
    structures: tuple[str, ...]
    at: At = (None, None)


@dataclass(frozen=True, slots=True)
class Joint:
    """Two utterances were heard again as one phrase."""

    text: str
    at: tuple[float, float]
    parts: tuple[int, int]
    into: int


@dataclass(frozen=True, slots=True)
class Partly:
    """Words of the phrase that is being spoken; for the eye only."""

    words: str
    at_s: float


@dataclass(frozen=True, slots=True)
class Message:
    """A word about the microphone, the disk or the tag reader. ``state``: which, as a word."""

    sentence: str
    state: str
    at: At = (None, None)


Event = Spoken | Found | Questioned | Closed | Flagged | Ended | Unspoken | Joint | Partly | Message


def record_of(event: Event) -> Record:
    """An event as one line of ``--json``."""
    return _RECORDS[type(event)](event)


def _heard(event: Spoken) -> Record:
    phrase = event.phrase
    more: Record = {
        "utterance": phrase.number,
        "fate": str(phrase.fate),
        "exam": phrase.exam,
        "audio": phrase.audio,
        "doubts": list(phrase.doubts),
        "by_context": list(phrase.by_context),
        "reply": event.reply,
    }
    for name in ("since_voice_s", "since_end_s"):
        if getattr(event, name) is not None:
            more[name] = getattr(event, name)
    return _line("heard", phrase.text, (phrase.at_s, phrase.until_s), more, phrase.confidence)


def _found(event: Found) -> Record:
    recorded = event.placed.recorded
    more: Record = {
        "number": recorded.number,
        "exam": event.placed.exam,
        "tag": event.tag,
        "state": str(recorded.state),
        "finding": finding_record(recorded.finding),
    }
    at = (recorded.at_s, recorded.until_s)
    return _line("finding", recorded.heard, at, more, recorded.confidence)


def _questioned(event: Questioned) -> Record:
    query = event.query
    more: Record = {
        "alternatives": [each.words for each in query.alternatives],
        "id": query.id,
        "exam": query.exam,
        "why": query.why,
        "state": str(query.state),
        "answer": None if event.is_open else query.answer,
    }
    return _line("query", query.question, event.at, more)


def _closed(event: Closed) -> Record:
    exam = event.exam
    questions = list(exam.open_queries)
    more: Record = {"exam": exam.number, "tag": exam.tag, "open_queries": questions}
    return _line("exam_closed", exam.tag or "", event.at, more)


def _line(kind: str, text: str, at: At, more: Record, confidence: float | None = None) -> Record:
    line: Record = {"event": kind, "at_s": at[0], "until_s": at[1], "text": text}
    return {**line, "confidence": confidence, "alternatives": [], **more}


_RECORDS: dict[type[Event], Callable[[Any], Record]] = {
    Spoken: _heard,
    Found: _found,
    Questioned: _questioned,
    Closed: _closed,
    Flagged: lambda e: _line("flag", e.flag.why, e.at, flag_record(e.number, e.tag, e.flag)),
    Ended: lambda e: _line("visit_closed", f"{e.animals} animals", (e.at_s, None), {}),
    Unspoken: lambda e: _line(
        "guide", e.sentence, e.at, {"exam": e.exam, "structures": list(e.structures)}
    ),
    Joint: lambda e: _line("joined", e.text, e.at, {"utterances": list(e.parts), "into": e.into}),
    Partly: lambda e: _line("partial", e.words, (e.at_s, None), {}),
    Message: lambda e: _line("microphone", e.sentence, e.at, {"state": e.state}),
}


def flag_record(number: int, tag: str | None, flag: Flag) -> Record:
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


def events_of(steps: Iterable[Step]) -> tuple[Event, ...]:
    """What happened in these entries, in the order in which a person wants it."""
    return tuple(event for step in steps for event in _of(step))


@dataclass(slots=True)
class _Last:
    """The first and last state of each thing that the facts of an entry set."""

    findings: dict[int, tuple[Placed | None, Placed | None]] = field(default_factory=dict)
    queries: dict[str, tuple[Query | None, Query | None]] = field(default_factory=dict)
    closed: dict[int, bool] = field(default_factory=dict)
    phrase: Phrase | None = None
    ends: bool = False


def _last(facts: Iterable[Fact]) -> _Last:
    last = _Last()
    for fact in facts:
        match fact:
            case FindingSet():
                was, _ = last.findings.get(fact.number, (fact.was, None))
                last.findings[fact.number] = (was, fact.now)
            case QuerySet():
                asked, _ = last.queries.get(fact.id, (fact.was, None))
                last.queries[fact.id] = (asked, fact.now)
            case ExamClosed():
                last.closed[fact.exam] = fact.now
            case PhraseSet(was=None, now=phrase):
                last.phrase = phrase
            case GoingSet(slot="closed", now=now):
                last.ends = bool(now)
    return last


def _of(step: Step) -> list[Event]:
    last, visit = _last(step.act.facts), step.visit
    phrase = last.phrase
    at = (None, None) if phrase is None else (phrase.at_s, phrase.until_s)
    events: list[Event] = []
    if phrase is not None and phrase.fate not in (Fate.JOINED, Fate.INSERTED):
        events.append(Spoken(phrase, visit.reply))
    for was, now in last.findings.values():
        if now is not None and (was is None or was.recorded != now.recorded):
            exam = visit.exam(now.exam)
            events.append(Found(now, None if exam is None else exam.tag))
    events += [Questioned(now, at) for was, now in last.queries.values() if now and now != was]
    for number, closed in last.closed.items():
        exam = visit.exam(number)
        if closed and exam is not None:
            events.append(Closed(exam, at))
    for number, flag in step.raised:
        exam = visit.exam(number)
        events.append(Flagged(number, None if exam is None else exam.tag, flag, at))
    if last.ends:
        events.append(Ended(len(visit.exams), visit.audio_until_s))
    return events
