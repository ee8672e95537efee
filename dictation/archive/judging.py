"""What hornsweep makes of sounds by its own rules: the real session, with a journal on disk.

Whether a value is stored or asked about is not decided here: the sounds are handed to a ``Session``
in a visit of their own, in which a cow is in hand and something was found on her.
"""

from __future__ import annotations

import tempfile
import time
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from dictation.audio.endpoint import Utterance
from dictation.live.session import Session
from dictation.recognition.protocol import Recogniser
from dictation.visit.inputs import PhraseHeard
from dictation.visit.journal import Journal
from dictation.visit.parts import Fate, Query
from dictation.visit.state import Visit
from grammar.findings import Command, Finding
from grammar.parse import parse

BEFORE = "cow five oh five oh left ovary cl eighteen"
"""What was said before, so that every command has something to work on."""

Whats = tuple[Finding | Command, ...]


@dataclass(frozen=True, slots=True)
class Verdict:
    """One utterance as the session took it.

    ``said``: what it was taken to say. ``stored``: it was taken without asking, and did something:
    'yes' where nothing was asked changes nothing. ``took_s``: from its sound to it on record.
    """

    fate: Fate
    stored: bool
    said: Whats
    doubts: tuple[str, ...]
    queries: tuple[Query, ...]
    took_s: float


def verdicts(
    sounds: Iterable[Utterance], recogniser: Recogniser, on: date, within: Path | None = None
) -> Iterator[Verdict]:
    """Each sound as it is taken, one after another. ``within``: where the visit lies meanwhile."""
    with (
        tempfile.TemporaryDirectory(dir=within) as folder,
        Journal.write(Path(folder)) as journal,
    ):
        session = Session(journal, parse, recogniser)
        session.begin(on, on)
        session.type(BEFORE)
        for sound in sounds:
            yield _verdict(session, sound)


def values_said(words: str, on: date) -> Whats:
    """What words say; nothing where they cannot be read."""
    return tuple(each.what for each in parse(words, on).said)


def _verdict(session: Session, sound: Utterance) -> Verdict:
    before = session.visit
    began = time.perf_counter()
    session.hear(sound)
    took_s = time.perf_counter() - began
    after = session.visit
    phrase = after.spoken[after.given.phrase]
    stored = phrase.fate in {Fate.RECORDED, Fate.NOTED} or (
        phrase.fate is Fate.COMMAND and _state(before) != _state(after)
    )
    heard = [given for _, given in session.journal.evidence(PhraseHeard)][-1]
    assert isinstance(heard, PhraseHeard)
    said = tuple(each.what for each in heard.said)
    queries = tuple(q for q in after.queries if q.phrase == phrase.number)
    return Verdict(phrase.fate, stored, said, phrase.doubts, queries, took_s)


def _state(visit: Visit) -> tuple[object, ...]:
    """What a command can change."""
    going = visit.going
    return visit.exams, going.in_hand, going.paused, going.note_awaited, going.closed
