"""Files on the disk: replaced in one step, whole or not at all, and safe against a power cut.

Whoever reads a file finds the old one or the new one. What is written lies beside it meanwhile, as
``.NAME.PID.part`` with the number of the process.
"""

from __future__ import annotations

import contextlib
import errno
import os
import re
from pathlib import Path

from dictation.errors import MissingError, WrongUseError, cannot_write

NO_ROOM = frozenset({errno.ENOSPC, errno.EFBIG, errno.EDQUOT})


def make_private(folder: Path) -> None:
    """Nobody else on this machine may look into a folder. Windows keeps by whom it was made."""
    with contextlib.suppress(OSError):
        folder.chmod(0o700)


def wipe(path: Path) -> None:
    """Overwrite a file and remove it, if it is there. Raises OSError."""
    with contextlib.suppress(FileNotFoundError):
        with path.open("r+b") as file:
            file.write(bytes(path.stat().st_size))
            file.flush()
            os.fsync(file.fileno())
        path.unlink()


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


def sync_file(path: Path) -> None:
    """Bring a file that was written to the disk."""
    with path.open("rb+") as file:
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


RESERVE = ".reserve"
RESERVED_BYTES = 1 << 20
"""Room for the last words of a visit on a disk that has filled up: some thirty phrases."""


def reserve(folder: Path) -> None:
    """Keep some room on the disk, as far as there is any, until ``release``."""
    try:
        write_through(folder / RESERVE, os.urandom(RESERVED_BYTES))
    except OSError:
        release(folder)


def release(folder: Path) -> None:
    """Give back the room that was kept."""
    with contextlib.suppress(OSError):
        (folder / RESERVE).unlink(missing_ok=True)


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
            f" {path.parent} --to csv'; what was recorded is kept."
        )
    if not path.parent.exists():
        return gone(path.parent)
    return f"{path} cannot be written ({error.strerror}): close it elsewhere or use another folder."


def gone(folder: Path) -> str:
    """The sentence on a folder that was there."""
    return (
        f"{folder} is not there any more, moved or on a disk that was taken out: all that was taken"
        " is where it is now; run the same command again with that place."
    )


def make_folder(folder: Path) -> None:
    """Make a folder for what is written. Raises WrongUseError or MissingError."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except FileExistsError as error:
        raise WrongUseError(f"{folder} is a file: give a folder with --out.") from error
    except OSError as error:
        raise cannot_write(folder, error.strerror) from error
