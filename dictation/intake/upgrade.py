"""A journal of version 1 becomes one of facts, once, beside the untouched original.

What it meant when it was written is in the CSV files that lie beside it: where today's rules decide
the same from what was said, that is taken; where they do not, the files are. What no file tells of
is decided by today's rules, marked as decided again, and asked about.
"""

from __future__ import annotations

import errno
import os
import shutil
import sqlite3
import tempfile
from collections.abc import Callable
from contextlib import closing, suppress
from dataclasses import dataclass, replace
from pathlib import Path

from dictation.decide.deciding import decide
from dictation.decide.leaving import is_closing
from dictation.disk import sync_file
from dictation.errors import BadInputError, HornsweepError, MissingError
from dictation.intake.from_files import Files, beside, differ, from_files, reworded
from dictation.intake.version_1 import Translator
from dictation.visit import schema
from dictation.visit.apply import after
from dictation.visit.chain import Row
from dictation.visit.inputs import (
    INPUTS,
    By,
    Choice,
    Input,
    QueryAnswered,
    ReadAnew,
    VisitClosed,
)
from dictation.visit.journal import JOURNAL_NAME, Journal, add_entry, connect_to_read
from dictation.visit.parts import Query
from dictation.visit.state import Act, Visit
from dictation.visit.words import facts_text, input_text, phrase_of

KEPT_NAME = "visit-version-1.sqlite"
"""The original, as it was: nothing ever writes to it again."""

NO_FILES = "no CSV files lay beside the journal of version 1"
BEHIND_FILES = "it was recorded after the CSV files were last written"

Tell = Callable[[str], None]


@dataclass(frozen=True, slots=True)
class Event:
    """A row of version 1."""

    seq: int
    at: str
    kind: str
    body: str


def version_of(folder: Path) -> int:
    """Version of the journal in a folder; 0 where there is none. Raises BadInputError."""
    path = folder / JOURNAL_NAME
    if not path.is_file():
        return 0
    try:
        with closing(connect_to_read(path)) as connection:
            return schema.check(connection)
    except (sqlite3.DatabaseError, UnicodeDecodeError):
        return schema.VERSION  # damaged: whoever opens it says how


def journal_to_read(folder: Path) -> Journal:
    """The journal of a visit to be read, brought up first; where nothing can be written, a copy."""
    try:
        brought_up(folder)
    except MissingError:
        return _copy_to_read(folder)
    return Journal.read(folder)


def brought_up(folder: Path, tell: Tell | None = None) -> None:
    """Turn a journal of version 1 into one of facts; nothing happens to any other.

    Raises MissingError where the folder cannot be written, BadInputError where the journal cannot
    be read. Until the last step the folder is as it was.
    """
    if version_of(folder) != 1:
        return
    source = folder / JOURNAL_NAME
    kept = folder / KEPT_NAME
    partial = folder / f".{JOURNAL_NAME}.{os.getpid()}.part"
    try:
        if not kept.exists():
            copy_journal(source, kept)
        told = _write(kept, folder, partial)
        _fold_log(source)
        partial.replace(source)
    except (OSError, sqlite3.Error) as error:
        raise MissingError(
            f"{folder} cannot be written ({error}), and its journal is of an earlier version:"
            " copy the folder to where it can be, or make room."
        ) from error
    finally:
        partial.unlink(missing_ok=True)
    if tell is not None:
        tell(f"{folder}: {told} The journal as it was is kept as {KEPT_NAME}.")


def copy_journal(source: Path, copy: Path) -> None:
    """A whole copy, with what lay in the log beside it, under its name in one step.

    Raises OSError.
    """
    partial = copy.with_name(f".{copy.name}.{os.getpid()}.part")
    try:
        with closing(connect_to_read(source)) as old, closing(sqlite3.connect(partial)) as new:
            old.backup(new)
            new.execute("PRAGMA journal_mode = DELETE")  # no log of its own lies beside it
        sync_file(partial)
        partial.replace(copy)
    except sqlite3.Error as error:
        raise OSError(errno.EIO, str(error)) from error
    finally:
        partial.unlink(missing_ok=True)


def _fold_log(path: Path) -> None:
    """What stands in the log beside a journal goes into its file, and the log away.

    A log must not lie beside the new journal; gone before that, the old one would be without it.
    """
    with closing(sqlite3.connect(path, timeout=5)) as connection:
        (mode,) = connection.execute("PRAGMA journal_mode = DELETE").fetchone()
    if mode != "delete":
        raise sqlite3.OperationalError("another program has it open")


def _copy_to_read(folder: Path) -> Journal:
    there = Path(tempfile.mkdtemp(prefix="hornsweep-"))
    try:
        copy_journal(folder / JOURNAL_NAME, there / JOURNAL_NAME)
        for csv in folder.glob("*.csv"):
            shutil.copyfile(csv, there / csv.name)
        brought_up(there)
        journal = Journal.read(there)
        journal.folder = folder
    finally:
        # An open file stays readable; where it does not, the system clears its own folder.
        with suppress(OSError):
            shutil.rmtree(there, ignore_errors=os.name == "nt")
    return journal


def _write(kept: Path, folder: Path, path: Path) -> str:
    """The journal of facts at ``path``; a sentence of where it comes from."""
    with closing(connect_to_read(kept)) as old:
        rows = old.execute("SELECT seq, at, kind, body FROM event ORDER BY seq").fetchall()
    entries, told = _decided([Event(*row) for row in rows], kept, folder)
    with closing(sqlite3.connect(path)) as connection:
        schema.prepare(connection)
        with connection:
            for a, text in entries:
                texts = text, facts_text(a.facts)
                row = Row(a.seq, a.at, a.kind, a.who, a.why, a.phrase, *texts)
                add_entry(connection, row, a.seq - 1)
    sync_file(path)
    return told


class OldestAsked(Visit):
    """A visit as version 1 took answers: the oldest question that offered any was live."""

    @property
    def asked(self) -> Query | None:
        """The question that a spoken answer went to."""
        here = self.open_of(self.in_hand)
        return next(iter([q for q in here if q.alternatives] or here), None)


class Deciding:
    """Entry after entry, decided on what came before."""

    def __init__(self) -> None:
        self.visit: Visit = OldestAsked()
        self.entries: list[tuple[Act, str]] = []
        self.translator = Translator()

    def take(self, given: Input, by: By, at: str) -> None:
        """One more entry, whatever it leads to."""
        seq = self.visit.given.seq + 1
        facts = decide(self.visit, given, by, at)
        act = Act(seq, at, INPUTS[type(given)], by.who, by.why, phrase_of(given), facts)
        self.add(act, input_text(given))

    def add(self, act: Act, text: str) -> None:
        """One more entry that is decided, with its evidence."""
        self.visit = after(self.visit, act)
        self.entries.append((act, text))

    def event(self, event: Event, kept: Path) -> None:
        """An event of version 1, out of ``kept``. Raises BadInputError."""
        try:
            given, by = self.translator.translate(self.visit, event.kind, event.body)
            self.take(given, by, event.at)
            for query in filter(is_closing, self.visit.open_queries):
                # in its day nothing was said of what is left
                self.take(QueryAnswered(query.id, Choice.TAKE, 1), By(), event.at)
        except (HornsweepError, ValueError, KeyError, AssertionError) as error:
            raise BadInputError(
                f"{kept}, event {event.seq}: {error}; put a copy of the file back."
            ) from error


def _decided(events: list[Event], kept: Path, folder: Path) -> tuple[list[tuple[Act, str]], str]:
    deciding = Deciding()
    files = beside(folder, events[-1].seq if events else 0)
    written = [event for event in events if files is not None and event.seq <= files.last_seq]
    for event in written:
        deciding.event(event, kept)
    told = "Its findings are those of the CSV files of its day."
    if files is not None and differ(deciding.visit, files):
        deciding = _from_files(deciding, written, files)
        told = (
            "Today's rules would have read it otherwise: its findings were taken from the CSV files"
            " that lay beside it. What was approved must be approved again."
        )
    elif files is not None and (questions := reworded(deciding.visit, files)):
        anew = ReadAnew((), "the words of the files of its day", questions)
        deciding.take(anew, By(), written[-1].at)
    done = deciding.visit
    for event in events[len(written) :]:
        deciding.event(event, kept)
    touched = _touched(done, deciding.visit)
    if touched:
        why = NO_FILES if files is None else BEHIND_FILES
        deciding.take(ReadAnew(touched, why), By(), events[-1].at)
        told = f"It was decided again by today's rules, and each animal is asked about: {why}."
    return deciding.entries, told


def _touched(before: Visit, now: Visit) -> tuple[int, ...]:
    """Exams whose findings came or changed."""
    was = {exam.number: exam.recorded for exam in before.exams}
    return tuple(e.number for e in now.exams if e.recorded != was.get(e.number, ()))


def _from_files(decided: Deciding, events: list[Event], files: Files) -> Deciding:
    """The same phrases, with the exams of the files."""
    deciding = Deciding()
    taken = from_files(decided.visit, files)
    for act, text in decided.entries:
        seq = deciding.visit.given.seq + 1
        deciding.add(replace(act, seq=seq, facts=taken.kept_of(act)), text)
    at = events[-1].at
    for exam in taken.exams:
        deciding.take(exam, By(), at)
    if decided.visit.closed:
        deciding.take(VisitClosed(), By(), at)
    deciding.translator = decided.translator
    return deciding
