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
from collections.abc import Callable, Iterable, Iterator
from dataclasses import astuple
from datetime import UTC, datetime
from functools import partial
from pathlib import Path
from typing import Protocol, TypeVar

from dictation.errors import BadInputError, WrongUseError
from dictation.gate import gate, unreadable
from dictation.visit import schema
from dictation.visit.apply import fold
from dictation.visit.chain import NO_DIGESTS, Row, Seal, damage_of, rest_of, sealed
from dictation.visit.facts import Fact
from dictation.visit.inputs import INPUTS, By, Input
from dictation.visit.journal_file import (
    AUDIO_FOLDER,
    JOURNAL_NAME,
    BusyError,
    connect_to_read,
    connect_to_write,
    holds_visit,
    make_folder,
    remedy,
    take_lock,
    told,
)
from dictation.visit.state import Act, Visit
from dictation.visit.words import (
    WordsError,
    facts_from,
    facts_text,
    input_from,
    input_text,
    phrase_of,
)

__all__ = [
    "AUDIO_FOLDER",
    "JOURNAL_NAME",
    "BusyError",
    "Clock",
    "Journal",
    "SystemClock",
    "act_of",
    "add_entry",
    "connect_to_read",
    "holds_visit",
]


class Clock(Protocol):
    """Tells the time of day."""

    def now(self) -> datetime:
        """The present moment in UTC."""


class SystemClock:
    """The machine's clock."""

    def now(self) -> datetime:
        """The present moment in UTC."""
        return datetime.now(UTC)


Read = TypeVar("Read")

_KINDS = {word: kind for kind, word in INPUTS.items()}


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
        self._damaged_words: set[int] = set()
        with told(folder, read_only):
            there = connection.execute("SELECT 1 FROM sqlite_master WHERE name = 'digest'")
            self._digests = "digest" if there.fetchone() else NO_DIGESTS
        self._connection = connection
        self._lock = lock
        self._clock = clock

    @classmethod
    def write(cls, folder: Path, clock: Clock | None = None) -> Journal:
        """Open the visit in ``folder`` to go on with it, or begin one there.

        Raises BusyError where another process is writing it, MissingError where the folder cannot
        be written, BadInputError where ``visit.sqlite`` is no journal.
        """
        make_folder(folder)
        lock = take_lock(folder)
        try:
            return cls(folder, connect_to_write(folder), lock, clock or SystemClock())
        except BaseException:
            lock.close()
            raise

    @classmethod
    def read(cls, folder: Path) -> Journal:
        """Open the visit in ``folder`` to read it, also while another process writes it."""
        try:
            found = holds_visit(folder)
        except OSError as error:
            raise unreadable(folder, "the visit's folder", error) from error
        if not found:
            raise BadInputError(f"{folder} holds no visit: there is no {JOURNAL_NAME} in it.")
        with told(folder, reading=True):
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
        return cls(folder, connect_to_write(folder), None, clock or SystemClock())

    @property
    def audio(self) -> Path:
        """Where the sound of the utterances is kept."""
        return self.folder / AUDIO_FOLDER

    def moved_on(self, seq: int) -> bool:
        """Whether there are entries after number ``seq``."""
        with told(self.folder):
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
        texts = input_text(given), facts_text(facts)
        row = Row(act.seq, at, act.kind, by.who, by.why, act.phrase, *texts)
        with told(self.folder), self._connection:
            return act if add_entry(self._connection, row, seen) else None

    def acts(self, after: int = 0) -> Iterator[Act]:
        """The entries in order, from the one after number ``after``, without their evidence."""
        for row, damage in self.rows(after):
            if damage == "facts":
                raise self._damaged(row.seq, "it is not what was written")
            yield self._read(row.seq, partial(act_of, row), row.facts)

    def rows(self, after: int = 0) -> Iterator[tuple[Row, str | None]]:
        """The entries as they stand in the file, and what ``damage_of`` says of each."""
        with told(self.folder, reading=self.read_only):
            found = self._connection.execute(
                "SELECT e.seq, e.at, e.input, e.who, e.why, e.phrase, e.evidence, e.facts,"
                " d.salt, d.evidence, d.facts, d.chain, d.rest,"
                f" (SELECT b.chain FROM {self._digests} b WHERE b.seq < e.seq"
                " ORDER BY b.seq DESC LIMIT 1)"
                f" FROM entry e LEFT JOIN {self._digests} d ON d.seq = e.seq"
                " WHERE e.seq > ? ORDER BY e.seq",
                (after,),
            )
            for *entry, salt, evidence, facts, chain, rest, before in found:
                row = Row(*entry)
                seal = None if chain is None else Seal(salt, evidence, facts, chain, rest)
                damage = damage_of(row, seal, before)
                if damage == "evidence":
                    self._damaged_words.add(row.seq)
                yield row, damage

    def damage(self) -> tuple[str, ...]:
        """A sentence on each entry, of those read, whose words alone are damaged."""
        return tuple(
            f"{self.folder / JOURNAL_NAME}, entry {seq}: what was said is damaged and passed over;"
            " what it led to is whole."
            for seq in sorted(self._damaged_words)
        )

    def visit(self) -> Visit:
        """What all its facts come to."""
        # They hold no circles: looking for some among tens of thousands takes longer than reading.
        collecting = gc.isenabled()
        gc.disable()
        try:
            with gate(self.folder / JOURNAL_NAME, remedy(self.folder)):
                return fold(self.acts())
        finally:
            if collecting:
                gc.enable()

    def evidence(self, of: type[Input] | None = None) -> Iterator[tuple[int, Input]]:
        """What came in, by the number of its entry: all of it, or of one kind.

        What was forgotten is left out, and so is what is damaged: ``damage`` names it.
        """
        for row, damage in self.rows():
            if damage or of not in (None, _KINDS.get(row.input)):
                continue
            given = self._read(row.seq, partial(input_from, row.input), row.evidence)
            if given is not None:
                yield row.seq, given

    def dump(self) -> str:
        """The facts of the journal as read and written again, an entry a line: the same for ever.

        Raises BadInputError where an entry cannot be read.
        """
        return "".join(f"{act.seq} {act.kind} {facts_text(act.facts)}\n" for act in self.acts())

    def forget(self, left: Iterable[Row], row: Row) -> None:
        """Write what is left of entries over them and add one that says so, in one transaction.

        Nothing of what stood there stays in the file, its log or its free pages. Raises
        MissingError where another program has the visit open.
        """
        with told(self.folder):
            # Only who is alone may leave the log, which holds the words too.
            self._connection.execute("PRAGMA journal_mode = DELETE")
            self._connection.execute("PRAGMA secure_delete = ON")
            self._connection.execute("PRAGMA temp_store = MEMORY")
            with self._connection:
                self._connection.execute("BEGIN IMMEDIATE")
                write_over(self._connection, left)
                add_entry(self._connection, row, row.seq - 1)
            self._connection.execute("VACUUM")
            self._connection.execute("PRAGMA journal_mode = WAL")

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
            raise self._damaged(seq, f"{error}; if a newer hornsweep wrote it, use that") from error

    def _damaged(self, seq: int, why: str) -> BadInputError:
        where = f"{self.folder / JOURNAL_NAME}, entry {seq}"
        return BadInputError(f"{where} cannot be read ({why}): {remedy(self.folder)}.")


def act_of(row: Row, facts: str) -> Act:
    """An entry as the visit remembers it. Raises WordsError."""
    return Act(row.seq, row.at, row.input, row.who, row.why, row.phrase, facts_from(facts))


def add_entry(connection: sqlite3.Connection, row: Row, seen: int) -> bool:
    """Add an entry and its digests behind entry ``seen``; False where another is there already."""
    added = connection.execute(
        "INSERT INTO entry (seq, at, input, who, why, phrase, evidence, facts)"
        " SELECT ?, ?, ?, ?, ?, ?, ?, ? WHERE (SELECT coalesce(max(seq), 0) FROM entry) = ?",
        (*astuple(row), seen),
    )
    if not added.rowcount:
        return False
    last = "SELECT chain FROM digest WHERE seq < ? ORDER BY seq DESC LIMIT 1"
    before = connection.execute(last, (row.seq,)).fetchone()
    seal = sealed(row, before[0] if before else "")
    connection.execute("INSERT INTO digest VALUES (?, ?, ?, ?, ?, ?)", (row.seq, *astuple(seal)))
    return True


def write_over(connection: sqlite3.Connection, left: Iterable[Row]) -> None:
    """What is left of entries in their place; the digests of their words lose their salt."""
    guards = [text for text in schema.TABLES if text.startswith("CREATE TRIGGER")]
    for guard in guards:
        connection.execute(f"DROP TRIGGER {guard.split()[2]}")
    for row in left:
        texts = row.why, row.evidence, row.facts, row.seq
        connection.execute("UPDATE entry SET why = ?, evidence = ?, facts = ? WHERE seq = ?", texts)
        rest = (rest_of(row), row.seq)
        connection.execute("UPDATE digest SET salt = NULL, rest = ? WHERE seq = ?", rest)
    for guard in guards:
        connection.execute(guard)
