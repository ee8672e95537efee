"""``hornsweep listen`` as a process, and what it prints."""

from __future__ import annotations

import json
import queue
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Mapping
from pathlib import Path
from types import TracebackType

from dictation.recognition.speech import said_words
from grammar import normalise

Event = dict[str, object]

START_S = 90.0
"""Loading the model takes a second or two; a machine that is building takes far longer."""


def spelt(text: str) -> str:
    """A text with its numbers as words: a recogniser writes '22' or 'twenty two' as it likes."""
    return " ".join(word for part in normalise(text).split() for word in said_words(part))


class Listening:
    """The process with ``--json``; ended by the usual signal unless it was killed."""

    def __init__(self, folder: Path, environment: Mapping[str, str], *options: str) -> None:
        self._process = subprocess.Popen(
            [sys.executable, "-m", "dictation", "listen", "--out", str(folder), "--json", *options],
            env=dict(environment),
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            text=True,
        )
        self._coming: queue.SimpleQueue[Event | None] = queue.SimpleQueue()
        self.seen: list[Event] = []
        threading.Thread(target=self._read, daemon=True).start()

    def __enter__(self) -> Listening:
        self.wait_for(lambda e: e.get("state") == "listening", START_S)
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        if self._process.poll() is None:
            self._process.send_signal(signal.SIGTERM)
        self._process.wait(60)

    @property
    def code(self) -> int | None:
        """The exit code, once it has ended."""
        return self._process.poll()

    def kill(self) -> None:
        """As a power cut does."""
        self._process.kill()
        self._process.wait()

    def end(self, number: int) -> None:
        """By a signal, and not killed."""
        self._process.send_signal(number)
        self._process.wait(60)

    def wait_for(self, wanted: Callable[[Event], bool], timeout_s: float = 40.0) -> Event:
        """The next event that is wanted. Raises AssertionError where none comes."""
        end = time.monotonic() + timeout_s
        while (left := end - time.monotonic()) > 0:
            try:
                event = self._coming.get(timeout=left)
            except queue.Empty:
                break
            if event is None:
                break
            self.seen.append(event)
            if wanted(event):
                return event
        told = "\n".join(str(event) for event in self.seen)
        raise AssertionError(f"it did not come; what came:\n{told}")

    def wait_for_heard(self, words: str) -> Event:
        """The utterance in which these words were heard, numbers however they are written."""
        return self.wait_for(lambda e: e["event"] == "heard" and words in spelt(str(e["text"])))

    def _read(self) -> None:
        assert self._process.stdout is not None
        for line in self._process.stdout:
            self._coming.put(json.loads(line))
        self._coming.put(None)
