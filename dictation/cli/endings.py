"""How the command ends where a signal ends it, or nobody is left who reads what it says."""

from __future__ import annotations

import os
import select
import signal
import sys
from types import FrameType
from typing import TextIO

TOLD_TO_END = tuple(
    getattr(signal, name) for name in ("SIGINT", "SIGTERM", "SIGHUP") if hasattr(signal, name)
)
"""By hand, by the system, and by a terminal that was closed."""


def unwind_when_told_to_end() -> None:
    """Every such signal ends the command as Ctrl-C does: the files of a visit come to be whole.

    What was to be ignored, as under nohup, stays so.
    """
    for number in TOLD_TO_END:
        if signal.getsignal(number) is not signal.SIG_IGN:
            signal.signal(number, _unwind)


def _unwind(number: int, frame: FrameType | None) -> None:
    # More of them would cut off the writing of the files.
    for each in TOLD_TO_END:
        signal.signal(each, _not_again)
    raise KeyboardInterrupt


def _not_again(number: int, frame: FrameType | None) -> None:
    """It is ending already."""


def unread() -> bool:
    """Whether output goes nowhere, its terminal closed or its reader gone; it is let go then."""
    gone = [stream for stream in (sys.stdout, sys.stderr) if _leads_nowhere(stream)]
    for stream in gone:
        # The interpreter flushes once more when it ends.
        os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())
    return bool(gone)


def _leads_nowhere(stream: TextIO) -> bool:
    try:
        number = stream.fileno()
    except (OSError, ValueError):  # no file of the system's
        return False
    try:
        stream.flush()
    except OSError:
        return True
    if not hasattr(select, "poll"):  # as on Windows
        return False
    asked = select.poll()
    asked.register(number, 0)  # hang-ups and errors are told all the same
    return bool(asked.poll(0))
