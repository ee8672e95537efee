"""Keys of the recorder, read without waiting, and what each asks for."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager

from prompt_toolkit.input import Input, create_input
from prompt_toolkit.key_binding import KeyPress
from prompt_toolkit.keys import Keys

from dictation.live.keys import Pressed, Wish

_PLAIN = {
    "a": Wish.ACCEPT,
    "u": Wish.UNDO,
    "y": Wish.REDO,
    "n": Wish.NEXT,
    "p": Wish.PAUSE,
    "q": Wish.QUIT,
}

VIEWS = "dw"
"""Keys that open another screen, details or the way to the wall page, and close it again."""


class Keyboard:
    """Turns keys into wishes. ``typing``: the line being typed, None where none is.

    ``view``: the key of the screen that is looked at, empty for the first.
    """

    def __init__(self) -> None:
        self.typing: str | None = None
        self.view = ""

    def press(self, key: KeyPress) -> Pressed | None:
        """One key; None where it asks for nothing (yet)."""
        if key.key == Keys.ControlC:
            return Pressed(Wish.QUIT)
        if self.typing is not None:
            return self._type(key, self.typing)
        data = key.data.lower()
        if data == "r":
            self.typing = ""
        elif data and data in VIEWS:
            self.view = "" if self.view == data else data
        if data == "0":
            return Pressed(Wish.NONE)
        if data in {"1", "2", "3"}:
            return Pressed(Wish.TAKE, int(data))
        wish = _PLAIN.get(data)
        return None if wish is None else Pressed(wish)

    def _type(self, key: KeyPress, line: str) -> Pressed | None:
        if key.key == Keys.Escape:
            self.typing = None
        elif key.key in (Keys.Enter, Keys.ControlM, Keys.ControlJ):
            self.typing = None
            return Pressed(Wish.TYPED, text=line.strip()) if line.strip() else None
        elif key.key in (Keys.Backspace, Keys.ControlH):
            self.typing = line[:-1]
        elif key.data.isprintable():
            self.typing = line + key.data
        return None


class NoKeys:
    """There is no terminal to type at."""

    def read_keys(self) -> list[KeyPress]:
        """Nothing."""
        return []

    def flush_keys(self) -> list[KeyPress]:
        """Nothing."""
        return []


@contextmanager
def terminal_keys() -> Iterator[Input | NoKeys]:
    """The terminal without line editing and echo; as it was before at the end."""
    if not sys.stdin.isatty():
        yield NoKeys()
        return
    source = create_input()
    with source.raw_mode():
        yield source
