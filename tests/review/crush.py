"""A visit that is spoken while its wall page is served: the loop of ``listen`` without sound."""

from __future__ import annotations

import queue
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, cast

import numpy as np

from dictation.audio.ear import Ear, EarEvent
from dictation.audio.microphone import Microphone
from dictation.audio.reading import Heed, ignore
from dictation.audio.samples import Samples
from dictation.audio.spool import Spool
from dictation.decide.understanding import Understanding
from dictation.live.events import Event
from dictation.live.guide import LEFT_FIRST, Guide
from dictation.live.listening import Listening
from dictation.live.session import Session
from dictation.live.shared import Shared
from dictation.review.access import Gate
from dictation.review.serve import Wanted, serving
from dictation.review.wall import wall
from dictation.visit.journal import Journal
from dictation.visit.state import Visit
from grammar.parse import parse
from tests.decide.spoken import ON, Phrase, come_in

TURN_S = 0.01


class Silence:
    """A microphone in which nothing is said. ``lost``: it was pulled out."""

    lost = False

    def blocks(self, heed: Heed = ignore) -> Iterator[Samples]:
        yield np.zeros(512, np.float32)


class Crush:
    """What is said here reaches the session by the thread that owns it."""

    def __init__(self, folder: Path) -> None:
        self.shared = Shared()
        self.microphone = Silence()
        self.events: list[Event] = []
        self.gate: Gate | None = None
        self.now: Any = None
        self._said: queue.SimpleQueue[Phrase | None] = queue.SimpleQueue()
        self._dealt = threading.Semaphore(0)
        self._thread = threading.Thread(target=self._run, args=(folder,))

    @property
    def visit(self) -> Visit:
        return self.shared.visit

    def say(self, *phrases: Phrase) -> None:
        """Say each, and wait until it was decided."""
        for phrase in phrases:
            self._said.put(phrase)
        for _ in phrases:
            assert self._dealt.acquire(timeout=20)

    def begin(self) -> None:
        self._thread.start()
        assert self._dealt.acquire(timeout=20)

    def end(self) -> None:
        self._said.put(None)
        self._thread.join(20)

    def _run(self, folder: Path) -> None:
        with Journal.write(folder) as journal:
            session = Session(journal, parse)
            session.begin(ON, ON)
            found: queue.SimpleQueue[EarEvent] = queue.SimpleQueue()
            understanding = Understanding(parse, lambda: session.visit)
            ear = Ear(self.microphone, Spool(folder, 0.0), found.put)
            guide = Guide(session, understanding)
            desk = Listening(session, ear, found, understanding, guide)
            self.now = desk.now
            self.shared.begin(desk, cast(Microphone, self.microphone))
            self._dealt.release()
            while True:
                self.events += self.shared.act(desk)
                try:
                    phrase = self._said.get(timeout=TURN_S)
                except queue.Empty:
                    continue
                if phrase is None:
                    return
                self.events += session.take(*come_in(session.visit, phrase))
                self._dealt.release()


@contextmanager
def at_the_crush(folder: Path, wanted: Wanted | None = None) -> Iterator[Crush]:
    """A visit being spoken, its wall page served; the gate tells where."""
    crush = Crush(folder)
    pages = wanted or Wanted(who="recorder")
    crush.begin()
    try:
        shared = crush.shared
        with serving(lambda gate: wall(shared, gate, LEFT_FIRST), pages, shared.over) as gate:
            crush.gate = gate
            yield crush
    finally:
        crush.end()
