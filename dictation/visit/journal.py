"""The journal of a visit in SQLite, only ever added to, safe against a power cut.

``visit.sqlite`` lies in the visit's folder. An entry is what came in with the facts it led to, in
one row and one committed transaction with ``synchronous = FULL``; triggers refuse to change or
delete one. Facts are appended against the entry that they were decided on: where another came
between, nothing is added, and they must be decided again. One process at a time records: it holds a
lock on ``.writing`` beside the journal, which the system lets go when the process ends, however it
ends. Others open the same journal to read it, or to add what people put right.
"""

from __future__ import annotations

import gc
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from functools import partial
from pathlib import Path
from typing import Protocol, TypeVar

from dictation.errors import (
    BadInputError,
    HornsweepError,
    MissingError,
    WrongUseError,
    cannot_write,
)
from dictation.visit import schema
from dictation.visit.apply import fold
from dictation.visit.facts import Fact
from dictation.visit.inputs import INPUTS, By, Input
from dictation.visit.state import Act, Visit
from dictation.visit.words import (
    WordsError,
    facts_from,
    facts_text,
    input_from,
    input_text,
    phrase_of,
)

JOURNAL_NAME = "visit.sqlite"
LOCK_NAME = ".writing"
AUDIO_FOLDER = "audio"


class Clock(Protocol):
    """Tells the time of day."""

    def now(self) -> datetime:
        """The present moment in UTC."""


class SystemClock:
    """The machine's clock."""

    def now(self) -> datetime:
        """The present moment in UTC."""
        return datetime.now(UTC)


def holds_visit(folder: Path) -> bool:
    """Whether a folder already holds a visit."""
    return (folder / JOURNAL_NAME).is_file()


class BusyError(WrongUseError):
    """Another process is writing this visit."""


Read = TypeVar("Read")


class Journal:
    """The entries of one visit. Use ``Journal.write`` or ``Journal.read`` to open one."""

    def __init__(
        self,
        folder: Path,
        connection: sqlite3.Connection,
        lock: sqlite3.Connection | None,
        clock: Clock,
        read_only: bool = False,
    ) -> None:
        self.folder = folder
        self.read_only = read_only
        self._connection = connection
        self._lock = lock
        self._clock = clock

    @classmethod
    def write(cls, folder: Path, clock: Clock | None = None) -> Journal:
        """Open the visit in ``folder`` to go on with it, or begin one there.

        Raises BusyError where another process is writing it, MissingError where the folder cannot
        be written, BadInputError where ``visit.sqlite`` is no journal.
        """
        _make_folder(folder)
        lock = _take_lock(folder)
        try:
            return cls(folder, _connect(folder), lock, clock or SystemClock())
        except BaseException:
            lock.close()
            raise

    @classmethod
    def read(cls, folder: Path) -> Journal:
        """Open the visit in ``folder`` to read it, also while another process writes it."""
        if not holds_visit(folder):
            raise BadInputError(f"{folder} holds no visit: there is no {JOURNAL_NAME} in it.")
        with _told(folder):
            connection = connect_to_read(folder / JOURNAL_NAME)
            if not schema.check(connection):
                connection.close()
                raise BadInputError(f"{folder} holds no visit yet: nothing was recorded in it.")
        return cls(folder, connection, None, SystemClock(), read_only=True)

    @classmethod
    def amend(cls, folder: Path, clock: Clock | None = None) -> Journal:
        """Open the visit in ``folder`` to add people's corrections, also while another records it.

        Raises BadInputError where there is no visit, MissingError where it cannot be written.
        """
        cls.read(folder).close()
        return cls(folder, _connect(folder), None, clock or SystemClock())

    @property
    def audio(self) -> Path:
        """Where the sound of the utterances is kept."""
        return self.folder / AUDIO_FOLDER

    def moved_on(self, seq: int) -> bool:
        """Whether there are entries after number ``seq``."""
        with _told(self.folder):
            (last,) = self._connection.execute("SELECT max(seq) FROM entry").fetchone()
        return (last or 0) > seq

    def now(self) -> str:
        """The clock's time, UTC ISO 8601."""
        return self._clock.now().isoformat(timespec="milliseconds")

    def append(
        self, given: Input, facts: tuple[Fact, ...], by: By, seen: int, at: str
    ) -> Act | None:
        """Add an entry whose facts were decided on the visit after entry ``seen``.

        When this returns it is on the disk. None where another entry came between: nothing is
        added then.
        """
        if self.read_only:
            raise WrongUseError(f"The visit in {self.folder} was opened to be read only.")
        act = Act(seen + 1, at, INPUTS[type(given)], by.who, by.why, phrase_of(given), facts)
        row = (act.seq, at, act.kind, by.who, by.why, act.phrase)
        with _told(self.folder), self._connection:
            added = self._connection.execute(
                "INSERT INTO entry (seq, at, input, who, why, phrase, evidence, facts)"
                " SELECT ?, ?, ?, ?, ?, ?, ?, ?"
                " WHERE (SELECT coalesce(max(seq), 0) FROM entry) = ?",
                (*row, input_text(given), facts_text(facts), seen),
            )
        return act if added.rowcount else None

    def acts(self, after: int = 0) -> Iterator[Act]:
        """The entries in order, from the one after number ``after``, without their evidence."""
        with _told(self.folder):
            rows = self._connection.execute(
                "SELECT seq, at, input, who, why, phrase, facts FROM entry WHERE seq > ?"
                " ORDER BY seq",
                (after,),
            )
            for seq, at, word, who, why, phrase, facts in rows:
                yield Act(seq, at, word, who, why, phrase, self._read(seq, facts_from, facts))

    def visit(self) -> Visit:
        """What all its facts come to."""
        # They hold no circles: looking for some among tens of thousands takes longer than reading.
        collecting = gc.isenabled()
        gc.disable()
        try:
            return fold(self.acts())
        finally:
            if collecting:
                gc.enable()

    def evidence(self, of: type[Input] | None = None) -> Iterator[tuple[int, Input]]:
        """What came in, by the number of its entry: all of it, or of one kind."""
        with _told(self.folder):
            rows = self._connection.execute(
                "SELECT seq, input, evidence FROM entry WHERE input = coalesce(?, input)"
                " ORDER BY seq",
                (None if of is None else INPUTS[of],),
            )
            for seq, kind, text in rows:
                given = self._read(seq, partial(input_from, kind), text)
                if given is not None:
                    yield seq, given

    def dump(self) -> str:
        """The facts of the journal as read and written again, an entry a line: the same for ever.

        Raises BadInputError where an entry cannot be read.
        """
        return "".join(f"{act.seq} {act.kind} {facts_text(act.facts)}\n" for act in self.acts())

    def close(self) -> None:
        """Let the journal and its lock go. The write-ahead log is folded into the file."""
        self._connection.close()
        if self._lock is not None:
            self._lock.close()

    def __enter__(self) -> Journal:
        return self

    def __exit__(self, *error: object) -> None:
        self.close()

    def _read(self, seq: int, read: Callable[[str], Read], text: str) -> Read:
        try:
            return read(text)
        except WordsError as error:
            raise BadInputError(
                f"{self.folder / JOURNAL_NAME}, entry {seq} cannot be read ({error}); if a newer"
                " hornsweep wrote it, use that one, otherwise put a copy of the file back."
            ) from error


def _make_folder(folder: Path) -> None:
    try:
        (folder / AUDIO_FOLDER).mkdir(parents=True, exist_ok=True)
    except (FileExistsError, NotADirectoryError) as error:
        raise WrongUseError(
            f"{folder} is a file, not a folder: give a folder with --out."
        ) from error
    except OSError as error:
        raise cannot_write(folder, error.strerror) from error


def _take_lock(folder: Path) -> sqlite3.Connection:
    # An exclusive SQLite transaction is a lock that every system has and frees at a crash.
    with _told(folder):
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


def _connect(folder: Path) -> sqlite3.Connection:
    with _told(folder):
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
def _told(folder: Path) -> Iterator[None]:
    """Turn what SQLite says into one sentence for the user."""
    try:
        yield
    except sqlite3.DatabaseError as error:
        raise _sentence(folder, error) from error


def _sentence(folder: Path, error: sqlite3.DatabaseError) -> HornsweepError:
    code = getattr(error, "sqlite_errorcode", 0) & 0xFF
    if code in (sqlite3.SQLITE_FULL, sqlite3.SQLITE_IOERR):
        return MissingError(
            f"The disk of {folder} is full or cannot be written ({error}): make room and start"
            " again with the same folder, everything up to here is kept."
        )
    if code in (sqlite3.SQLITE_NOTADB, sqlite3.SQLITE_CORRUPT):
        return BadInputError(
            f"{folder / JOURNAL_NAME} is damaged or no journal of a visit ({error}):"
            " put a copy of it back, or give another folder."
        )
    if code in (sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_READONLY, sqlite3.SQLITE_PERM):
        return cannot_write(folder, error)
    return MissingError(f"The journal in {folder} cannot be used ({error}): try again.")
