"""The recogniser of a live visit: ahead of the end of a phrase, and with an ear for answers."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager

from dictation.audio.ear import Hints
from dictation.decide.understanding import answers_of
from dictation.live.session import Session
from dictation.recognition.ahead import AheadRecogniser
from dictation.recognition.answers import AnsweringRecogniser
from dictation.recognition.glimpse import Glimpser, GlimpsingThread
from dictation.recognition.guided import GuidedRecogniser
from dictation.recognition.protocol import Recogniser, Streaming
from grammar.constraint import constraint
from grammar.parse import values_of


class Hearing(AheadRecogniser):
    """The recogniser of a live visit: hears ahead, and answers where something is asked.

    ``model``: that of a guided engine, for the words while they are spoken; None with another.
    """

    def __init__(self, recogniser: Recogniser) -> None:
        self.model = recogniser.model if isinstance(recogniser, GuidedRecogniser) else None
        self._answering = (
            AnsweringRecogniser(recogniser, values_of)
            if isinstance(recogniser, GuidedRecogniser)
            else None
        )
        self.streaming = recogniser if isinstance(recogniser, Streaming) else None
        super().__init__(self._answering or recogniser)

    def ask(self, session: Session) -> None:
        """Listen for what would answer the question that is open now."""
        if self._answering is not None:
            query = session.visit.asked
            self._answering.ask(() if query is None else answers_of(query, session.visit))


@contextmanager
def glimpses(hearing: Hearing, hints: Hints, glimpsed: Callable[[str], None]) -> Iterator[None]:
    """Words while they are spoken: with the model of the final hearing, or an engine's stream."""
    if hearing.streaming is not None:
        glimpse = hearing.streaming.glimpse
    elif hearing.model is not None:
        glimpse = Glimpser(constraint(), hearing.model).glimpse
    else:
        yield
        return
    thread = GlimpsingThread(glimpse, glimpsed, hearing.busy)
    hints.glimpse = thread.offer
    try:
        yield
    finally:
        thread.stop()
