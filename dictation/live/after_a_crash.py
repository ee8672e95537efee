"""The next start of a visit heard live: the last words are heard again from the sound on disk."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import UTC, datetime

import numpy as np

from dictation.audio.endpoint import Endpointer, EndpointEvent, Utterance
from dictation.audio.keep import keep_utterance
from dictation.audio.own_voice import beside_own_voice
from dictation.audio.samples import SAMPLE_RATE_HZ, Samples
from dictation.audio.spool import last_written_at, sound_between, spooled, spooled_until_s, tidy
from dictation.audio.voice import Synthesiser, as_heard
from dictation.decide.rivals import Parse
from dictation.errors import MissingError
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
    end_s = max(spooled_until_s(folder), session.visit.audio_until_s)
    written_at = last_written_at(folder)
    tidy(folder)
    if written_at is None:
        return end_s
    now = now or datetime.now(UTC)
    away_s = max(0.0, now.timestamp() - written_at)
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
    spoken = [fact for fact in facts if isinstance(fact, Spoke)]
    own = [spoke for spoke in spoken if spoke.until_s > session.visit.audio_until_s]
    mixed: list[Spoke] = []
    from_s = session.visit.audio_until_s
    endpointer, offset_s, until_s = make(), from_s, from_s
    for at_s, samples in spooled(session.journal.folder, from_s):
        if abs(at_s - until_s) > 1 / SAMPLE_RATE_HZ:
            yield from _placed(endpointer.flush(), offset_s, mixed)
            endpointer, offset_s = make(), at_s
        until_s = at_s + len(samples) / SAMPLE_RATE_HZ
        events = endpointer.push(_without(samples, at_s, own, mixed))
        yield from _placed(events, offset_s, mixed)
    yield from _placed(endpointer.flush(), offset_s, mixed)


def _placed(
    events: tuple[EndpointEvent, ...], offset_s: float, mixed: list[Spoke]
) -> Iterator[Utterance]:
    for event in events:
        if isinstance(event, Utterance):
            placed = event.later(offset_s)
            over = any(s.from_s < placed.until_s and placed.at_s < s.until_s for s in mixed)
            yield replace(placed, over_own_voice=over)


def _without(samples: Samples, at_s: float, own: list[Spoke], mixed: list[Spoke]) -> Samples:
    """The samples without what the tool said itself; what others said meanwhile stays.

    ``mixed`` takes those sentences of the tool that the microphone heard together with others.
    """
    cleaned = samples
    for spoke in own:
        begun = round((spoke.from_s - at_s) * SAMPLE_RATE_HZ)
        first, last = max(0, begun), round((spoke.until_s - at_s) * SAMPLE_RATE_HZ)
        if first < min(last, len(samples)):
            played = _spoken_again(spoke.text)[first - begun :]
            beside = beside_own_voice(samples[first:last], played)
            cleaned = np.array(cleaned)
            cleaned[first:last] = beside.samples
            mixed += [spoke] if beside.others else []
    return cleaned


def _spoken_again(text: str) -> Samples:
    """What the tool said, as it was played; nothing where it has lost its voice."""
    try:
        return as_heard(*Synthesiser().speak(text))
    except MissingError:
        return np.zeros(0, np.float32)
