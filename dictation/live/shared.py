"""A live visit shared with a page, which runs in a thread of its own: seen at any time, put right
only by the thread that owns the session.
"""

from __future__ import annotations

import queue
from collections.abc import Iterator, Sequence
from concurrent.futures import Future
from contextlib import contextmanager
from dataclasses import dataclass, field
from enum import StrEnum

from dictation.audio.ear import Ear
from dictation.audio.microphone import Microphone
from dictation.decide.record import Flags
from dictation.errors import HornsweepError, MissingError
from dictation.live.events import Event
from dictation.live.listening import Listening
from dictation.live.loop import Front
from dictation.visit.inputs import By, Deed
from dictation.visit.state import Visit

NOTHING_YET = Visit()

DONE_WITHIN_S = 10.0
"""A phrase that is being heard comes first; longer than that, something is wrong."""


class State(StrEnum):
    """Whether what is said now is taken up."""

    STARTING = "getting ready"
    LISTENING = "listening"
    LOST = "microphone lost"
    PAUSED = "paused"
    CLOSED = "visit closed"
    ENDED = "listening has ended"


@dataclass(frozen=True, slots=True)
class _Touch:
    deed: Deed
    by: By
    done: Future[None] = field(default_factory=Future)


class Shared:
    """The front of a visit, behind which a page looks at it too."""

    def __init__(self, front: Front) -> None:
        self._front = front
        self._desk: Listening | None = None
        self._microphone: Microphone | None = None
        self._touched: queue.SimpleQueue[_Touch] = queue.SimpleQueue()
        self._ended = False

    @property
    def done(self) -> bool:
        """Whether the person in front wants to stop."""
        return self._front.done

    @property
    def visit(self) -> Visit:
        """What the visit has come to."""
        return NOTHING_YET if self._desk is None else self._desk.session.visit

    @property
    def flags(self) -> Flags:
        """The flags of its exams."""
        return {} if self._desk is None else self._desk.session.flags

    @property
    def now(self) -> tuple[str, str, str]:
        """Whether what is said is taken up, the words under way, and the last notice."""
        if self._desk is None:
            return State.STARTING, "", ""
        state, now, visit = State.LISTENING, self._desk.now, self.visit
        if self._ended:
            state = State.ENDED
        elif self._microphone is not None and self._microphone.lost:
            state = State.LOST
        elif visit.paused or visit.closed:
            state = State.PAUSED if visit.paused else State.CLOSED
        return state, now.words, now.told

    def catch_up(self) -> object:
        """The session itself takes up what others add."""
        return ()

    def put_right(self, deed: Deed, by: By) -> object:
        """Have it done by the session's thread, between two phrases; as ``Record.put_right``."""
        touch = _Touch(deed, by)
        if self._ended:
            raise MissingError("Listening has ended: put it right on the review page.")
        self._touched.put(touch)
        try:
            return touch.done.result(DONE_WITHIN_S)
        except TimeoutError as error:
            if touch.done.cancel():
                raise MissingError("That could not be done in time: try again.") from error
            return touch.done.result()

    def over(self) -> None:
        """The visit is not heard any more."""
        self._ended = True

    def show(self, happened: Sequence[Event]) -> None:
        """Show what happened."""
        self._front.show(happened)

    def act(self, desk: Listening) -> tuple[Event, ...]:
        """Do what was asked for by key and by touch since the last time."""
        happened = list(self._front.act(desk))
        while not self._touched.empty():
            touch = self._touched.get()
            if not touch.done.set_running_or_notify_cancel():
                continue
            try:
                happened += desk.session.catch_up()
                happened += desk.put_right(touch.deed, touch.by)
            except HornsweepError as error:
                touch.done.set_exception(error)
            else:
                touch.done.set_result(None)
        return tuple(happened)

    @contextmanager
    def drawn(self, desk: Listening, ear: Ear, microphone: Microphone) -> Iterator[None]:
        """While this holds, the front is there."""
        with self._front.drawn(desk, ear, microphone):
            self._desk, self._microphone = desk, microphone
            yield
