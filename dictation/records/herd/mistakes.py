"""Mistakes of a herd list, each with its place, told all at once."""

from __future__ import annotations

from pathlib import Path

from dictation.errors import BadInputError

MISTAKES_SHOWN = 10
"""Most mistakes named in one sentence; the rest are counted."""


class Mistakes:
    """What is wrong with a file. ``line``, ``column``: what its places are called."""

    def __init__(self, path: Path, line: str = "line", column: str = "column") -> None:
        self._path = path
        self._line, self._column = line, column
        self._found: list[str] = []

    def add(self, line: int, column: str, what: str) -> None:
        """A mistake on a line of the file, from 1."""
        self._found.append(f"{self._line} {line}, {self._column} {column}: {what}")

    def stop_if_any(self) -> None:
        """Raise BadInputError with all of them, if there is one."""
        if not self._found:
            return
        shown = "; ".join(self._found[:MISTAKES_SHOWN])
        more = len(self._found) - MISTAKES_SHOWN
        rest = f"; and {more} more" if more > 0 else ""
        raise BadInputError(
            f"{self._path}: {shown}{rest}. Nothing of it was taken; correct the list and try again."
        )
