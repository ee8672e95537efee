"""A tag reader on a serial port: its lines, one by one, while the visit goes on."""

from __future__ import annotations

import queue
import threading
from dataclasses import dataclass
from types import TracebackType

import serial

from dictation.errors import MissingError, WrongUseError

USUAL_BAUD = 9600
"""Speed of most readers (common practice); another is given as PORT@BAUD."""

TRY_AGAIN_S = 2.0
"""How often a reader that went away is looked for."""

LONGEST_LINE = 200
"""Bytes without a line end after which what came is no line."""

_WAIT_S = 0.2


@dataclass(frozen=True, slots=True)
class Line:
    """What the reader sent, without its line end."""

    text: str


@dataclass(frozen=True, slots=True)
class Told:
    """The reader went away, or is back; a sentence."""

    sentence: str


class ReaderPort:
    """Reads lines in a thread of its own; ``next`` gives them. A context: it closes the port.

    Raises MissingError where there is no such port, WrongUseError where its speed is no number.
    """

    def __init__(self, name: str) -> None:
        self._name, baud = _name_and_baud(name)
        self._baud = baud
        self._port: serial.Serial | None = _opened(self._name, baud)
        self._sent: queue.SimpleQueue[Line | Told] = queue.SimpleQueue()
        self._over = threading.Event()
        self._thread = threading.Thread(target=self._read, name="tag reader", daemon=True)

    def next(self) -> Line | Told | None:
        """The next thing the reader sent, if there is one."""
        try:
            return self._sent.get_nowait()
        except queue.Empty:
            return None

    def __enter__(self) -> ReaderPort:
        self._thread.start()
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._over.set()
        self._thread.join(2 * TRY_AGAIN_S)
        if self._port is not None:
            self._port.close()

    def _read(self) -> None:
        so_far = b""
        while not self._over.is_set():
            try:
                if self._port is None:
                    self._port = _opened(self._name, self._baud)
                    self._sent.put(Told("The tag reader is back."))
                so_far = self._lines(so_far + self._port.read(max(1, self._port.in_waiting)))
            except MissingError:
                self._over.wait(TRY_AGAIN_S)
            except (serial.SerialException, OSError):
                self._gone()
                so_far = b""

    def _gone(self) -> None:
        if self._port is not None:
            self._port.close()
            self._port = None
            what = f"The tag reader at {self._name} is gone: say the tags, and check its cable."
            self._sent.put(Told(what))

    def _lines(self, received: bytes) -> bytes:
        """Whole lines out of what was received; the rest waits for its end."""
        *whole, rest = received.replace(b"\r", b"\n").split(b"\n")
        for line in whole:
            text = line.decode("ascii", errors="replace").strip(" \x00\x02\x03")
            if text:
                self._sent.put(Line(text))
        return rest if len(rest) <= LONGEST_LINE else b""


def _name_and_baud(name: str) -> tuple[str, int]:
    port, separator, baud = name.rpartition("@")
    if not separator:
        return name, USUAL_BAUD
    if not baud.isdecimal() or not 0 < int(baud) <= 1_000_000:
        raise WrongUseError(f"'{baud}' is no speed of a reader: give --reader PORT or PORT@9600.")
    return port, int(baud)


def _opened(name: str, baud: int) -> serial.Serial:
    try:
        return serial.Serial(name, baud, timeout=_WAIT_S, exclusive=True)
    except (serial.SerialException, OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "it is not there, or not to be opened"
        raise MissingError(
            f"no tag reader at {name} ({reason}): check its cable and the name of the port, or "
            "leave --reader out."
        ) from error
