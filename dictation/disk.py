"""Files that are on the disk when they are said to be: the old one or the new one, whole."""

from __future__ import annotations

import contextlib
import errno
import os
from pathlib import Path

NO_ROOM = frozenset({errno.ENOSPC, errno.EFBIG, errno.EDQUOT})


def put_in_place(path: Path, content: bytes) -> None:
    """Write ``.NAME.PID.part`` beside ``path`` and put it there in one step; on disk on return.

    Raises OSError; then no part of a file is left, and what was there before is as it was.
    """
    partial = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        write_through(partial, content)
        partial.replace(path)
        _sync_folder(path.parent)
    except OSError:
        with contextlib.suppress(OSError):
            partial.unlink(missing_ok=True)
        raise


def write_through(path: Path, content: bytes) -> None:
    """Write a file and bring it to the disk."""
    with path.open("wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())


def _sync_folder(folder: Path) -> None:
    """The new name is only safe once its folder is on disk. Windows has no such call."""
    if os.name == "nt":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
