"""A file is replaced in one step: whoever reads it finds the old one or the new one, whole.

What is written lies beside it meanwhile, as ``.NAME.PID.part`` with the number of the process.
What is made of each exam is kept, so that a visit that goes on costs one exam and not all of them.
"""

from __future__ import annotations

import contextlib
import os
import re
from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

from dictation.disk import NO_ROOM, put_in_place
from dictation.errors import MissingError
from grammar.exam import Exam

Beside = TypeVar("Beside")
Made = TypeVar("Made")

_PART = re.compile(r"\..+\.([0-9]+)\.part")


def bring_up_to_date(path: Path, content: bytes) -> None:
    """As ``replace_file``, but a file that holds this already is left alone."""
    with contextlib.suppress(OSError):
        if path.stat().st_size == len(content) and path.read_bytes() == content:
            return
    replace_file(path, content)


def remove_left_over(folder: Path) -> None:
    """Remove what processes that died in the middle of writing left in a folder."""
    # On Windows there is no harmless way to ask whether a process lives: there they stay.
    if os.name == "nt":
        return
    with contextlib.suppress(OSError):
        for path in folder.iterdir():
            part = _PART.fullmatch(path.name)
            if part is not None and not _lives(int(part[1])):
                path.unlink(missing_ok=True)


def _lives(process: int) -> bool:
    try:
        os.kill(process, 0)
    except (ProcessLookupError, OverflowError):
        return False
    except PermissionError:
        return True
    return True


def replace_file(path: Path, content: bytes) -> None:
    """Write ``content`` beside ``path``, bring it to the disk, and put it in the place of ``path``.

    Raises MissingError where there is no room or the folder cannot be written; the file that was
    there before is then as it was.
    """
    try:
        put_in_place(path, content)
    except OSError as error:
        raise MissingError(_sentence(path, error)) from error


def remove_file(path: Path) -> None:
    """Remove a file, if it is there. Raises MissingError where that cannot be done."""
    try:
        path.unlink(missing_ok=True)
    except OSError as error:
        raise MissingError(_sentence(path, error)) from error


def _sentence(path: Path, error: OSError) -> str:
    if error.errno in NO_ROOM:
        return (
            f"There is no room on the disk for {path}: make room and run 'hornsweep export"
            f" {path.parent} --to csv'; the visit itself is kept."
        )
    return f"{path} cannot be written ({error.strerror}): close it elsewhere or use another folder."


def by_exam(make: Callable[[Exam, Beside], Made]) -> Callable[[Exam, Beside], Made]:
    """What ``make`` makes of an exam and what comes beside it; anew only for other ones.

    An exam is frozen, and a visit hands the same object on for as long as nothing of it changes.
    """
    kept: dict[int, tuple[Exam, Beside, Made]] = {}

    def made(exam: Exam, beside: Beside) -> Made:
        was = kept.get(exam.number)
        # Equal exams are not looked for: comparing all findings takes as long as making it anew.
        if was is None or was[0] is not exam or was[1] != beside:
            was = kept[exam.number] = (exam, beside, make(exam, beside))
        return was[2]

    return made
