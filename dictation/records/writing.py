"""A file is replaced in one step: whoever reads it finds the old one or the new one, whole."""

from __future__ import annotations

import contextlib
import errno
import os
from pathlib import Path

from dictation.errors import MissingError

_NO_ROOM = frozenset({errno.ENOSPC, errno.EFBIG, errno.EDQUOT})


def replace_file(path: Path, content: bytes) -> None:
    """Write ``content`` beside ``path``, bring it to the disk, and put it in the place of ``path``.

    Raises MissingError where there is no room or the folder cannot be written; the file that was
    there before is then as it was.
    """
    partial = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        with partial.open("wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        partial.replace(path)
        _sync_folder(path.parent)
    except OSError as error:
        with contextlib.suppress(OSError):
            partial.unlink(missing_ok=True)
        raise MissingError(_sentence(path, error)) from error


def remove_file(path: Path) -> None:
    """Remove a file, if it is there. Raises MissingError where that cannot be done."""
    try:
        path.unlink(missing_ok=True)
    except OSError as error:
        raise MissingError(_sentence(path, error)) from error


def _sentence(path: Path, error: OSError) -> str:
    if error.errno in _NO_ROOM:
        return (
            f"There is no room on the disk for {path}: make room and run 'hornsweep export"
            f" {path.parent} --to csv'; the visit itself is kept."
        )
    return f"{path} cannot be written ({error.strerror}): close it elsewhere or use another folder."


def _sync_folder(folder: Path) -> None:
    # Windows has no way to open a folder for this.
    if os.name == "nt":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
