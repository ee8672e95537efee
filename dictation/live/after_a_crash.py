"""The next start of a visit heard live: the last words are heard again from the sound on disk."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import UTC, datetime

import numpy as np

from dictation.audio.ear import ECHO_S
from dictation.audio.endpoint import Endpointer, EndpointEvent, Utterance
from dictation.audio.keep import keep_utterance
from dictation.audio.samples import SAMPLE_RATE_HZ, Samples
from dictation.audio.spool import last_written_at, sound_between, spooled, spooled_until_s, tidy
from dictation.decide.rivals import Parse
from dictation.live.events import Event
from dictation.live.joining import Joiner
from dictation.live.session import Session
from dictation.visit.facts import Gap, Spoke
from dictation.visit.inputs import Noted


def hear_the_rest(
    session: Session, parse: Parse, make: Callable[[], Endpointer] = Endpointer
) -> tuple[Event, ...]:
    """Hear what was kept before the program ended and never came to be heard; nothing twice.

    A phrase that the end of the program cut in two is joined, as one with a pause in it is.
    """
    _keep_what_was_cut_out(session)
    joiner = Joiner(session, parse)
    joiner.go_on()
    happened = [*session.recover(joiner.heard)]
    for sound in _spoken_since(session, make):
        happened += session.hear(sound)
        happened += joiner.heard(sound)
    return tuple(happened)


def go_on_from_s(session: Session, now: datetime | None = None) -> float:
    """Where in the visit's audio the microphone goes on; the time away goes on record."""
    folder = session.journal.folder
    sound_s = spooled_until_s(folder)
    end_s = max(sound_s, session.visit.audio_until_s)
    written_at = last_written_at(folder)
    tidy(folder)
    if written_at is None:
        return end_s
    now = now or datetime.now(UTC)
    away_s = max(0.0, now.timestamp() - written_at - (end_s - sound_s))
    session.take(Noted(Gap(end_s, end_s + away_s, "the program was not running")))
    return end_s + away_s


def _keep_what_was_cut_out(session: Session) -> None:
    """An utterance cut out just before the end, whose own file was not written yet."""
    folder = session.journal.folder
    for captured in session.visit.captured:
        there = any(session.journal.audio.glob(f"{captured.phrase:04d}*.flac"))
        if captured.recording is not None or there:
            continue
        samples = sound_between(folder, captured.at_s, captured.until_s)
        if len(samples):
            sound = Utterance(samples, captured.at_s, captured.until_s, captured.phrase)
            keep_utterance(folder, captured.phrase, sound)


def _spoken_since(session: Session, make: Callable[[], Endpointer]) -> Iterator[Utterance]:
    """What lies on the disk behind the last that was heard, without what the tool said itself."""
    facts = (fact for act in session.journal.acts() for fact in act.facts)
    spoken = (fact for fact in facts if isinstance(fact, Spoke) and not fact.headset)
    own = [spoke for spoke in spoken if spoke.until_s > session.visit.audio_until_s]
    from_s = session.visit.audio_until_s
    endpointer, offset_s, until_s = make(), from_s, from_s
    for at_s, samples in spooled(session.journal.folder, from_s):
        if abs(at_s - until_s) > 1 / SAMPLE_RATE_HZ:
            yield from _placed(endpointer.flush(), offset_s)
            endpointer, offset_s = make(), at_s
        until_s = at_s + len(samples) / SAMPLE_RATE_HZ
        yield from _placed(endpointer.push(_without(samples, at_s, own)), offset_s)
    yield from _placed(endpointer.flush(), offset_s)


def _placed(events: tuple[EndpointEvent, ...], offset_s: float) -> Iterator[Utterance]:
    yield from (event.later(offset_s) for event in events if isinstance(event, Utterance))


def _without(samples: Samples, at_s: float, own: list[Spoke]) -> Samples:
    """Silence in the place of what the tool said itself, as while it listened."""
    heard = np.array(samples)
    for spoke in own:
        first, last = (
            max(0, round((s - at_s) * SAMPLE_RATE_HZ))
            for s in (spoke.from_s, spoke.until_s + ECHO_S)
        )
        heard[first:last] = 0.0
    return heard
