"""A live visit shared with a page, which runs in a thread of its own: seen at any time, put right
only by the thread that owns the session.
"""

from __future__ import annotations

import queue
from concurrent.futures import Future
from dataclasses import dataclass, field
from enum import StrEnum

from dictation.audio.microphone import Microphone
from dictation.decide.record import Flags
from dictation.errors import HornsweepError, MissingError
from dictation.live.events import Event
from dictation.live.listening import Listening
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
    NOT_KEPT = "not kept"
    PAUSED = "paused"
    CLOSED = "visit closed"
    ENDED = "listening has ended"


@dataclass(frozen=True, slots=True)
class _Touch:
    deed: Deed
    by: By
    done: Future[None] = field(default_factory=Future)


class Shared:
    """What a page sees of a live visit, and what it asks for."""

    def __init__(self) -> None:
        self._desk: Listening | None = None
        self._microphone: Microphone | None = None
        self._touched: queue.SimpleQueue[_Touch] = queue.SimpleQueue()
        self._ended = False

    def begin(self, desk: Listening, microphone: Microphone) -> None:
        """From now on this is what is seen."""
        self._desk, self._microphone = desk, microphone

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
        elif self._desk.trouble:
            state = State.NOT_KEPT
        elif visit.paused or visit.closed:
            state = State.PAUSED if visit.paused else State.CLOSED
        return state, now.words, self._desk.trouble or now.told

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

    def act(self, desk: Listening) -> tuple[Event, ...]:
        """Do what was touched since the last time."""
        happened: list[Event] = []
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
