"""The loop of a visit heard live: ear, keys and tag reader in turn, until somebody ends it."""

from __future__ import annotations

import queue
import time
from collections.abc import Callable, Sequence
from contextlib import AbstractContextManager, ExitStack
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

from dictation.audio.devices import without_driver_talk
from dictation.audio.ear import Ear, EarEvent, Hints
from dictation.audio.microphone import Microphone
from dictation.audio.spool import Spool
from dictation.decide.understanding import Understanding
from dictation.live.after_a_crash import go_on_from_s, hear_the_rest
from dictation.live.answering_aloud import AnsweringAloud, Speak
from dictation.live.events import Event
from dictation.live.guide import ORDERS, Guide
from dictation.live.hearing import Hearing, glimpses
from dictation.live.listening import Listening
from dictation.live.opening import Begin, session_in
from dictation.live.reader_lines import take_read
from dictation.live.replay import Tell
from dictation.live.session import Session
from dictation.reader.port import ReaderPort
from dictation.recognition.protocol import Recogniser
from grammar.parse import parse

TURN_S = 0.03
"""How long the desk waits for the ear before it looks at the keys again."""

Waiting = Callable[[str], AbstractContextManager[object]]
"""Shows that something takes a while, as long as it is entered."""


class Front(Protocol):
    """What faces the person. ``done``: they want to stop."""

    done: bool

    def show(self, happened: Sequence[Event]) -> None:
        """Show what happened."""
        ...

    def act(self, desk: Listening) -> tuple[Event, ...]:
        """Do what was asked for by key since the last time."""
        ...

    def drawn(
        self, desk: Listening, ear: Ear, microphone: Microphone
    ) -> AbstractContextManager[None]:
        """While this holds, the front is there."""
        ...


@dataclass(frozen=True, slots=True)
class Wanted:
    """How a visit is listened to. ``for_s``: ends by itself after so long."""

    folder: Path
    herd: Path | None = None
    speak: Speak = Speak.OFF
    order: str = "left-first"
    for_s: float | None = None
    reader: str | None = None


def listen(  # noqa: PLR0913, PLR0917 - what a live visit needs of whoever starts it
    wanted: Wanted,
    microphone: Microphone,
    front: Front,
    load: Callable[[], Recogniser],
    waiting: Waiting,
    tell: Tell,
) -> None:
    """Listen until the recorder, the time or a signal ends it."""
    with ExitStack() as stack:
        understanding = Understanding(parse, lambda: session.visit)
        with waiting("loading the recogniser"):
            hearing = Hearing(load())
        stack.callback(hearing.close)
        begin = Begin(wanted.folder, herd=wanted.herd)
        session = stack.enter_context(session_in(begin, hearing, tell, understanding))
        with waiting("hearing the last words again"):
            front.show(hear_the_rest(session, understanding))
        _run(wanted, microphone, front, hearing, session, understanding, stack)


def _run(  # noqa: PLR0913, PLR0917 - the parts of a live visit
    wanted: Wanted,
    microphone: Microphone,
    front: Front,
    hearing: Hearing,
    session: Session,
    understanding: Understanding,
    stack: ExitStack,
) -> None:
    found: queue.SimpleQueue[EarEvent] = queue.SimpleQueue()
    spool = Spool(wanted.folder, go_on_from_s(session))
    hints = Hints(ahead=hearing.begin)
    ear = Ear(microphone, spool, found.put, hints)
    guide = Guide(session, understanding, ORDERS[wanted.order])
    aloud = AnsweringAloud(session, ear, wanted.speak)
    stack.callback(aloud.stop)
    desk = Listening(session, ear, found, understanding, guide, aloud)
    stack.enter_context(glimpses(hearing, hints, desk.glimpsed))
    reader = stack.enter_context(ReaderPort(wanted.reader)) if wanted.reader else None
    stack.enter_context(without_driver_talk())
    stack.enter_context(front.drawn(desk, ear, microphone))
    ear.thread.start()
    end = None if wanted.for_s is None else time.monotonic() + wanted.for_s
    while not desk.over:
        front.show(desk.turn(TURN_S))
        front.show((*front.act(desk), *take_read(desk, reader)))
        hearing.ask(session)
        if front.done or (end is not None and time.monotonic() > end):
            microphone.stop()
        if microphone.stopped and desk.stuck:
            break  # the last words lie in the stream, and are heard at the next start
    ear.thread.join(5.0)
    desk.finish()
