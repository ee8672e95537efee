"""The loop of a visit heard live: ear, keys and tag reader in turn, until somebody ends it.

Its recogniser hears ahead of the end of a phrase, and has an ear for answers.
"""

from __future__ import annotations

import queue
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import AbstractContextManager, ExitStack, contextmanager
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Protocol

import numpy as np

from dictation.audio.devices import without_driver_talk
from dictation.audio.ear import Ear, EarEvent, Hints, Pause
from dictation.audio.microphone import Microphone
from dictation.audio.samples import SAMPLE_RATE_HZ, Samples
from dictation.audio.spool import Spool
from dictation.decide.rivals import Parse
from dictation.decide.understanding import Understanding, answers_of
from dictation.disk import release, reserve
from dictation.errors import MissingError
from dictation.live.after_a_crash import go_on_from_s, hear_the_rest
from dictation.live.answering_aloud import AnsweringAloud, Speak
from dictation.live.events import Event, Message
from dictation.live.guide import ORDERS, Guide
from dictation.live.listening import Listening
from dictation.live.pauses import pause_after
from dictation.live.session import Begin, Session, Tell, session_in
from dictation.live.shared import Shared
from dictation.reader.number import electronic
from dictation.reader.port import ReaderPort, Told
from dictation.recognition.ahead import AheadRecogniser
from dictation.recognition.answers import AnsweringRecogniser
from dictation.recognition.glimpse import Glimpser, GlimpsingThread
from dictation.recognition.guided import GuidedRecogniser
from dictation.recognition.protocol import Recogniser, Streaming
from grammar.constraint import constraint
from grammar.parse import parse, values_of

TURN_S = 0.03
"""How long the desk waits for the ear before it looks at the keys again."""

CHOICES = ("first", "second", "third")
"""Short answers that are listened for only while so many are offered."""

WARMING = np.random.default_rng(1).normal(0.0, 0.05, SAMPLE_RATE_HZ).astype(np.float32)
"""Noise that is heard before anybody speaks: a first hearing takes three times as long."""

Waiting = Callable[[str], AbstractContextManager[object]]
"""Shows that something takes a while, as long as it is entered."""


class Front(Protocol):
    """What faces the person. ``done``: they want to stop."""

    done: bool

    def show(self, happened: Sequence[Event]) -> None:
        """Show what happened."""

    def act(self, desk: Listening) -> tuple[Event, ...]:
        """Do what was asked for by key since the last time."""

    def drawn(
        self, desk: Listening, ear: Ear, microphone: Microphone
    ) -> AbstractContextManager[None]:
        """While this holds, the front is there."""


class Hearing(AheadRecogniser):
    """The recogniser of a live visit: hears ahead, and answers where something is asked.

    ``model``: that of a guided engine, for the words while they are spoken; None with another.
    """

    def __init__(self, recogniser: Recogniser) -> None:
        guided = recogniser if isinstance(recogniser, GuidedRecogniser) else None
        self.model = None if guided is None else guided.model
        self._answering = None if guided is None else AnsweringRecogniser(guided, values_of)
        self.streaming = recogniser if isinstance(recogniser, Streaming) else None
        super().__init__(self._answering or recogniser)

    def ask(self, session: Session) -> None:
        """Listen for what would answer the question that is open now."""
        if self._answering is not None:
            query = session.visit.asked
            answers = () if query is None else answers_of(query, session.visit)
            self._answering.ask((*answers, *CHOICES[: len(answers)]))


def hear_ahead(
    hearing: AheadRecogniser, session: Session, parse: Parse, samples: Samples, pause: Pause
) -> None:
    """Begin to hear, and say how much silence ends it once it is known what it is."""
    hearing.begin(samples, lambda heard: pause(pause_after(heard, parse, session.visit)))


@contextmanager
def glimpses(hearing: Hearing, hints: Hints, glimpsed: Callable[[str], None]) -> Iterator[None]:
    """Words while they are spoken: with the model of the final hearing, or an engine's stream."""
    if hearing.streaming is not None:
        glimpse = hearing.streaming.glimpse
    elif hearing.model is not None:
        glimpse = Glimpser(constraint(), hearing.model).glimpse
        glimpse(WARMING)
    else:
        yield
        return
    thread = GlimpsingThread(glimpse, glimpsed, hearing.busy)
    hints.glimpse = thread.offer
    try:
        yield
    finally:
        thread.stop()


@dataclass(frozen=True, slots=True)
class Wanted:
    """How a visit is listened to.

    ``for_s``: ends by itself after so long. ``copy``: folder of a second copy. ``headset``: what is
    said aloud goes to the speaker's ear, where no microphone hears it.
    """

    folder: Path
    herd: Path | None = None
    speak: Speak = Speak.OFF
    headset: bool = False
    order: str = "left-first"
    for_s: float | None = None
    reader: str | None = None
    copy: Path | None = None
    farm: str | None = None


def listen(  # noqa: PLR0913, PLR0917 - what a live visit needs of whoever starts it
    wanted: Wanted,
    microphone: Microphone,
    front: Front,
    load: Callable[[], Recogniser],
    waiting: Waiting,
    tell: Tell,
    page: Shared | None = None,
) -> None:
    """Listen until the recorder, the time or a signal ends it. ``page``: looks on, and touches."""
    with ExitStack() as stack:
        understanding = Understanding(parse, lambda: session.visit)
        with waiting("loading the recogniser"):
            hearing = Hearing(load())
            hearing.recognise(WARMING)
        stack.callback(hearing.close)
        begin = Begin(wanted.folder, herd=wanted.herd, farm=wanted.farm, copy=wanted.copy)
        session = stack.enter_context(session_in(begin, hearing, tell, understanding))
        with waiting("hearing the last words again"):
            front.show(hear_the_rest(session, understanding))
        page = page or Shared()
        _run(wanted, microphone, front, page, hearing, session, understanding, stack)


def _run(  # noqa: PLR0913, PLR0917 - the parts of a live visit
    wanted: Wanted,
    microphone: Microphone,
    front: Front,
    page: Shared,
    hearing: Hearing,
    session: Session,
    understanding: Understanding,
    stack: ExitStack,
) -> None:
    reserve(wanted.folder)
    stack.callback(release, wanted.folder)
    found: queue.SimpleQueue[EarEvent] = queue.SimpleQueue()
    spool = Spool(wanted.folder, go_on_from_s(session))
    hints = Hints(ahead=partial(hear_ahead, hearing, session, understanding))
    ear = Ear(microphone, spool, found.put, hints)
    guide = Guide(session, understanding, ORDERS[wanted.order])
    aloud = AnsweringAloud(session, ear, wanted.speak, wanted.headset)
    stack.callback(aloud.stop)
    desk = Listening(session, ear, found, understanding, guide, aloud)
    stack.enter_context(glimpses(hearing, hints, desk.glimpsed))
    reader = stack.enter_context(ReaderPort(wanted.reader)) if wanted.reader else None
    stack.enter_context(without_driver_talk())
    stack.enter_context(front.drawn(desk, ear, microphone))
    page.begin(desk, microphone)
    ear.thread.start()
    end = None if wanted.for_s is None else time.monotonic() + wanted.for_s
    while not desk.over:
        front.show(desk.turn(TURN_S))
        front.show((*front.act(desk), *page.act(desk), *take_read(desk, reader)))
        hearing.ask(session)
        if front.done or (end is not None and time.monotonic() > end):
            microphone.stop()
        if microphone.stopped and desk.stuck:
            break
    ear.thread.join(5.0)
    release(wanted.folder)
    if unkept := desk.finish():
        raise MissingError(_not_kept(unkept))


def _not_kept(words: tuple[str, ...]) -> str:
    said = ", ".join(f"'{each}'" if each else "(no words)" for each in words)
    phrases = "1 phrase is" if len(words) == 1 else f"{len(words)} phrases are"
    return f"The disk is full, and {phrases} not kept: {said}. Write down what matters."


def take_read(desk: Listening, reader: ReaderPort | None) -> tuple[Event, ...]:
    """Take up what the reader has sent since the last time."""
    happened: list[Event] = []
    while reader is not None and (sent := reader.next()) is not None:
        if not isinstance(sent, Told) and electronic(sent.text) is not None:
            happened += desk.typed(sent.text)
            continue
        wrong = "The reader sent '{}', which is no number of a tag."
        desk.now.told = sent.sentence if isinstance(sent, Told) else wrong.format(sent.text)
        happened.append(Message(desk.now.told, "reader"))
    return tuple(happened)
