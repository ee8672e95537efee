"""Two utterances that were one phrase: the visit as if the first two had not been heard alone."""

from __future__ import annotations

from dataclasses import replace

from dictation.session.events import Captured, Event, Gap, Heard
from dictation.session.live_events import Joined, Listened, Spoke
from dictation.session.visit import Fate, Utterance, Visit

REMEMBERED = 2
"""Phrases that can still be joined to what follows: the last, and what it may have been itself."""

_LEAVES_AS_IT_IS = (Heard, Captured, Gap, Spoke, Joined, Listened)


def remember(before: Visit, after: Visit, utterance: int) -> Visit:
    """Keep how the visit was before a phrase."""
    recent = (*before.recent, (utterance, replace(before, recent=())))
    return replace(after, recent=recent[-REMEMBERED:])


def forget_after(visit: Visit, event: Event) -> Visit:
    """Once a person has done something, no phrase before it can be joined any more."""
    if isinstance(event, _LEAVES_AS_IT_IS) or not visit.recent:
        return visit
    return replace(visit, recent=())


def can_join(visit: Visit, first: int, second: int) -> bool:
    """Whether these were the last two things that happened."""
    return [number for number, _ in visit.recent] == [first, second]


def join_phrases(visit: Visit, event: Joined) -> Visit:
    """The visit before the first of them, with both on record and their sound waiting."""
    known = dict(visit.recent)
    before = known.get(event.first)
    if before is None or event.second not in known:
        return visit
    parts = tuple(_joined(u) for u in visit.utterances if u.number in (event.first, event.second))
    waiting = Captured(event.into, event.at_s, event.until_s)
    return replace(
        before,
        utterances=(*before.utterances, *parts),
        captured=(*visit.captured, waiting),
        recordings=visit.recordings,
        audio_until_s=visit.audio_until_s,
        last_seq=visit.last_seq,
        last_utterance=max(visit.last_utterance, event.into),
    )


def _joined(utterance: Utterance) -> Utterance:
    return replace(
        utterance,
        fate=Fate.JOINED,
        touched=(),
        asked=(),
        answered=(),
        closed=None,
        opened=None,
        implied_next=False,
    )
