"""Events to a visit: a pure function, one step an event.

``fold(entries)`` and ``step`` after ``step`` as they come are the same thing, which is what makes a
restart, an undo and a review show the visit as it was.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime, timedelta

from dictation.session import people
from dictation.session.deeds import still_approved
from dictation.session.events import (
    Captured,
    Entry,
    Event,
    Gap,
    Heard,
    HerdListed,
    RecordingFinished,
    RecordingOpened,
    Typed,
    VisitClosed,
    VisitOpened,
)
from dictation.session.exams import close_exam, renew_known
from dictation.session.joined import forget_after, join_phrases, remember
from dictation.session.live_events import Joined, Listened, Spoke
from dictation.session.phrases import Phrase, take_phrase
from dictation.session.taken_over import ExamTaken, take_over
from dictation.session.visit import RecordingHeard, Visit


def fold(entries: Iterable[Entry], visit: Visit | None = None) -> Visit:
    """The visit after all of these events, on top of what ``visit`` was before them."""
    visit = visit or Visit()
    for entry in entries:
        visit = step(visit, entry)
    return visit


def step(visit: Visit, entry: Entry) -> Visit:
    """The visit after one more event. What changed is no longer what somebody approved."""
    after = _step(replace(visit, last_seq=entry.seq), entry)
    return forget_after(still_approved(visit, after), entry.event)


def _step(visit: Visit, entry: Entry) -> Visit:  # noqa: C901, PLR0911 - one a kind
    event: Event = entry.event
    match event:
        case VisitOpened():
            return replace(visit, on_date=event.on_date, farm=event.farm)
        case HerdListed():
            return _listed(visit, event)
        case RecordingOpened() | RecordingFinished():
            return _recording(visit, event)
        case Captured():
            return _captured(visit, event)
        case Heard():
            phrase = _heard_phrase(visit, event, entry.at)
            after = take_phrase(_heard_from(visit, event), phrase)
            return remember(visit, after, event.utterance)
        case Joined():
            return join_phrases(visit, event)
        case Spoke():
            return visit
        case Typed():
            return take_phrase(_typed_from(visit, event), _typed_phrase(visit, event, entry.at))
        case ExamTaken():
            return take_over(visit, event)
        case VisitClosed():
            return replace(close_exam(visit), closed=True, reply="")
        case Gap() | Listened():
            return replace(visit, audio_until_s=max(visit.audio_until_s, event.until_s))
        case _:
            return people.correct(visit, event, entry)


def _listed(visit: Visit, event: HerdListed) -> Visit:
    visit = replace(visit, herd=event.animals, herd_digest=event.digest, herd_source=event.source)
    return renew_known(visit)


def _recording(visit: Visit, event: RecordingOpened | RecordingFinished) -> Visit:
    if isinstance(event, RecordingFinished):
        recordings = tuple(
            replace(r, finished=True) if r.digest == event.digest else r for r in visit.recordings
        )
        until_s = max(visit.audio_until_s, event.until_s)
        return replace(visit, recordings=recordings, audio_until_s=until_s)
    if any(r.digest == event.digest for r in visit.recordings):
        return visit
    heard = RecordingHeard(
        event.digest, event.name, event.offset_s, event.started_at, event.offset_s
    )
    return replace(visit, recordings=(*visit.recordings, heard))


def _captured(visit: Visit, event: Captured) -> Visit:
    return replace(
        visit,
        captured=(*visit.captured, event),
        last_utterance=max(visit.last_utterance, event.utterance),
    )


def _heard_from(visit: Visit, event: Heard) -> Visit:
    recordings = tuple(
        replace(r, heard_until_s=max(r.heard_until_s, event.until_s))
        if r.digest == event.recording
        else r
        for r in visit.recordings
    )
    return replace(
        visit,
        recordings=recordings,
        captured=tuple(c for c in visit.captured if c.utterance != event.utterance),
        audio_until_s=max(visit.audio_until_s, event.until_s),
    )


def _typed_from(visit: Visit, event: Typed) -> Visit:
    if event.recording is None:
        return visit
    recordings = tuple(
        replace(r, lines_read=max(r.lines_read, event.line or 0))
        if r.digest == event.recording
        else r
        for r in visit.recordings
    )
    return replace(visit, recordings=recordings)


def _heard_phrase(visit: Visit, event: Heard, at: str) -> Phrase:
    best = event.hypotheses[0].normal if event.hypotheses else ""
    return Phrase(
        utterance=event.utterance,
        text=best or event.free_text,
        free_text=event.free_text or best,
        outcome=event.outcome,
        said=event.said,
        alternatives=event.alternatives,
        unread=event.unread,
        doubts=event.doubts,
        at_s=event.at_s,
        until_s=event.until_s,
        audio=event.audio,
        confidence=event.confidence,
        started_at=_time_of(visit, event.recording, event.at_s, at),
        reasons=event.reasons,
    )


def _typed_phrase(visit: Visit, event: Typed, at: str) -> Phrase:
    return Phrase(
        utterance=event.utterance,
        text=event.text,
        free_text=event.text,
        said=event.said,
        alternatives=event.alternatives,
        unread=event.unread,
        doubts=event.doubts,
        started_at=_time_of(visit, event.recording, 0.0, at),
    )


def _time_of(visit: Visit, digest: str | None, at_s: float, at: str) -> str | None:
    """Time of day of something said: the clock's when live, the recording's own if it is known."""
    if digest is None:
        return at
    recording = next((r for r in visit.recordings if r.digest == digest), None)
    if recording is None or recording.started_at is None:
        return None
    start = datetime.fromisoformat(recording.started_at)
    moment = start + timedelta(seconds=at_s - recording.offset_s)
    return moment.isoformat(timespec="seconds")
