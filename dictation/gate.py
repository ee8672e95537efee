"""The gate before what reads a file: what is no file, or too large, is refused before it is parsed.

What a parser that is not ours then stumbles over is the file's fault and ends as one sentence, with
exit code 3.
"""

from __future__ import annotations

import stat
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from dictation.errors import BadInputError, HornsweepError

MOST_BYTES = 64 * 2**20
"""No list, table or file of phrases is larger; a larger file is another file."""

WHY_SHOWN = 80
"""Characters of what a parser says that are passed on."""


def stop_at_no_file(path: Path, what: str, most_bytes: int | None = None) -> None:
    """Raises BadInputError where ``path`` is not there, no plain file, or larger than that.

    A pipe or a device would be waited for without end, so it is not opened. ``what`` it should be.
    """
    try:
        found = path.stat()
    except FileNotFoundError as error:
        raise BadInputError(f"{path} is not there: check the name of {what}.") from error
    except (OSError, ValueError) as error:
        raise unreadable(path, what, error) from error
    if stat.S_ISDIR(found.st_mode):
        raise BadInputError(f"{path} is a folder: give {what}, a file.")
    if not stat.S_ISREG(found.st_mode):
        raise BadInputError(f"{path} is a pipe or a device: save {what} as a file and give that.")
    if most_bytes is not None and found.st_size > most_bytes:
        raise BadInputError(
            f"{path} is too large for {what} ({found.st_size / 2**20:.0f} MiB, at most"
            f" {most_bytes / 2**20:.0f}): check its name."
        )


def content_of(path: Path, what: str, most_bytes: int = MOST_BYTES) -> bytes:
    """The bytes of a file, not more than so many. Raises BadInputError."""
    stop_at_no_file(path, what, most_bytes)
    try:
        with path.open("rb") as file:
            return file.read(most_bytes)
    except OSError as error:
        raise unreadable(path, what, error) from error


def unreadable(path: Path, what: str, error: OSError | ValueError) -> BadInputError:
    """The system does not let it be read."""
    why = getattr(error, "strerror", None) or error
    return BadInputError(f"{path} cannot be read ({why}): look at {what}, and who may read it.")


@contextmanager
def gate(path: Path, remedy: str) -> Iterator[None]:
    """Around a parser of another's making: whatever it raises is told as the file's fault."""
    try:
        yield
    except HornsweepError:
        raise
    except Exception as error:
        words = " ".join(str(error).split())[:WHY_SHOWN]
        why = f"{type(error).__name__}: {words}" if words else type(error).__name__
        raise BadInputError(f"{path} cannot be read ({why}): {remedy}.") from error


def in_letters(text: str) -> str:
    """The text. Raises ValueError where half a letter is in it, which no file could hold."""
    text.encode("utf-8")
    return text
