"""Recognition begun before the end of an utterance is certain.

Behind the last voice an utterance keeps a tail of silence; once that is there, its samples no
longer change, and hearing them can begin while the end-pointer still waits. If the speaker goes on,
what was begun is thrown away.
"""

from __future__ import annotations

import threading
from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor

from dictation.audio.samples import Samples
from dictation.recognition.protocol import Heard, Recogniser


class AheadRecogniser:
    """A recogniser that hears in its own thread, one utterance at a time, maybe begun early."""

    def __init__(self, recogniser: Recogniser) -> None:
        self._recogniser = recogniser
        self._thread = ThreadPoolExecutor(1, thread_name_prefix="recogniser")
        self._lock = threading.Lock()
        self._begun: tuple[bytes, Future[Heard]] | None = None
        self.busy = threading.Event()

    @property
    def name(self) -> str:
        """Name of the recogniser that does the work."""
        return self._recogniser.name

    def begin(self, samples: Samples, heard: Callable[[Heard], None] = lambda heard: None) -> None:
        """Begin to hear what is probably a whole utterance; returns at once.

        ``heard`` is called with it from the recogniser's thread, before anybody else has it.
        """
        key = samples.tobytes()
        with self._lock:
            if self._begun is not None and self._begun[0] == key:
                return
            if self._begun is not None:
                self._begun[1].cancel()
            self._begun = key, self._thread.submit(self._work, samples, heard)

    def recognise(self, samples: Samples) -> Heard:
        """Hear one utterance; what was begun of the very same samples is waited for."""
        key = samples.tobytes()
        with self._lock:
            begun = self._begun
            if begun is not None and begun[0] == key:
                future = begun[1]
                self._begun = None  # waited for: what begins next must not cancel it
            else:
                future = self._thread.submit(self._work, samples)
        return future.result()

    def close(self) -> None:
        """End the thread."""
        self._thread.shutdown(wait=True, cancel_futures=True)

    def _work(self, samples: Samples, told: Callable[[Heard], None] = lambda heard: None) -> Heard:
        self.busy.set()
        try:
            heard = self._recogniser.recognise(samples)
            told(heard)
            return heard
        finally:
            self.busy.clear()
