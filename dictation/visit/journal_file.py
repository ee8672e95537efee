"""The file of a journal: opened, locked, and what SQLite says of it as one sentence."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from dictation.disk import make_private
from dictation.errors import (
    BadInputError,
    HornsweepError,
    MissingError,
    WrongUseError,
    cannot_write,
)
from dictation.gate import unreadable
from dictation.visit import schema

JOURNAL_NAME = "visit.sqlite"
LOCK_NAME = ".writing"
AUDIO_FOLDER = "audio"


def holds_visit(folder: Path) -> bool:
    """Whether a folder already holds a visit."""
    return (folder / JOURNAL_NAME).is_file()


class BusyError(WrongUseError):
    """Another process is writing this visit."""


def remedy(folder: Path) -> str:
    """What to do about a damaged journal."""
    return (
        f"put a copy of it back, or let 'hornsweep repair {folder}' write what can be read to a new"
        " folder"
    )


def make_folder(folder: Path) -> None:
    """The folder of a visit, closed to others. Raises WrongUseError, MissingError."""
    try:
        (folder / AUDIO_FOLDER).mkdir(parents=True, exist_ok=True)
        if holds_visit(folder) or {each.name for each in folder.iterdir()} == {AUDIO_FOLDER}:
            make_private(folder)
    except (FileExistsError, NotADirectoryError) as error:
        raise WrongUseError(
            f"{folder} is a file, not a folder: give a folder with --out."
        ) from error
    except OSError as error:
        raise cannot_write(folder, error.strerror) from error


def take_lock(folder: Path) -> sqlite3.Connection:
    """The lock of whoever records, held until closed. Raises BusyError, MissingError."""
    # An exclusive SQLite transaction is a lock that every system has and frees at a crash.
    with told(folder):
        lock = sqlite3.connect(folder / LOCK_NAME, timeout=0, isolation_level=None)
        try:
            lock.execute("PRAGMA journal_mode = MEMORY")
            lock.execute("BEGIN EXCLUSIVE")
        except sqlite3.OperationalError as error:
            lock.close()
            if error.sqlite_errorcode in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED):
                raise BusyError(
                    f"Another hornsweep is writing the visit in {folder}:"
                    " it can be read meanwhile, and written when that one has ended."
                ) from error
            raise
    return lock


def connect_to_write(folder: Path) -> sqlite3.Connection:
    """The journal of a folder, made where there is none."""
    with told(folder):
        connection = sqlite3.connect(folder / JOURNAL_NAME, timeout=5, check_same_thread=False)
        connection.execute("PRAGMA journal_mode = WAL")
        connection.execute("PRAGMA synchronous = FULL")
        schema.prepare(connection)
    return connection


def connect_to_read(path: Path) -> sqlite3.Connection:
    """The file of a journal, to be read, also where nothing can be written."""
    address = path.resolve().as_uri()
    connection = sqlite3.connect(f"{address}?mode=ro", uri=True, timeout=5, check_same_thread=False)
    try:
        connection.execute("SELECT count(*) FROM sqlite_master")
    except sqlite3.OperationalError:
        # A log left by a crash on a medium that cannot be written: what is in the file is read.
        connection.close()
        connection = sqlite3.connect(f"{address}?immutable=1", uri=True, check_same_thread=False)
    return connection


@contextmanager
def told(folder: Path, reading: bool = False) -> Iterator[None]:
    """Turn what SQLite says into one sentence for the user."""
    try:
        yield
    except (sqlite3.DatabaseError, UnicodeDecodeError) as error:
        raise _sentence(folder, error, reading) from error


def _sentence(folder: Path, error: Exception, reading: bool) -> HornsweepError:
    code = getattr(error, "sqlite_errorcode", 0) & 0xFF
    words = str(error)[:80]
    if code in (sqlite3.SQLITE_FULL, sqlite3.SQLITE_IOERR):
        return MissingError(
            f"The disk of {folder} is full or cannot be written ({error}): make room and run the"
            " same command again, it goes on; everything up to here is kept."
        )
    if code in (sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_READONLY, sqlite3.SQLITE_PERM):
        if reading:
            return unreadable(folder / JOURNAL_NAME, "the visit's folder", ValueError(words))
        return cannot_write(folder, error)
    if code in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED):
        return MissingError(f"The journal in {folder} cannot be used ({words}): try again.")
    return BadInputError(
        f"{folder / JOURNAL_NAME} is damaged or no journal of a visit ({words}): {remedy(folder)}."
    )
