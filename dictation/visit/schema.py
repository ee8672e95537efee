"""The tables of a journal, in numbered versions. A new file is made as the newest.

Version 1 kept what was said and decided it anew at every read; ``version_1`` turns such a journal
into one of facts, beside the untouched original. Version 2 keeps, in one row, what came in and the
facts it led to; the digests beside it came later, and are absent where an earlier hornsweep wrote.
"""

from __future__ import annotations

import sqlite3

from dictation.errors import BadInputError
from dictation.visit import chain

APPLICATION_ID = 0x686F726E
"""SQLite's application id of a journal: the letters 'horn'."""

VERSION = 2

TABLES = (
    "CREATE TABLE entry ("
    " seq INTEGER PRIMARY KEY,"
    " at TEXT NOT NULL,"
    " input TEXT NOT NULL,"
    " who TEXT NOT NULL,"
    " why TEXT NOT NULL,"
    " phrase INTEGER,"
    " evidence TEXT NOT NULL CHECK (json_valid(evidence)),"
    " facts TEXT NOT NULL CHECK (json_valid(facts))"
    ") STRICT",
    "CREATE TRIGGER entry_never_changes BEFORE UPDATE ON entry"
    " BEGIN SELECT RAISE(ABORT, 'entries are never changed'); END",
    "CREATE TRIGGER entry_never_goes BEFORE DELETE ON entry"
    " BEGIN SELECT RAISE(ABORT, 'entries are never deleted'); END",
    "CREATE TRIGGER entry_never_replaced BEFORE INSERT ON entry"
    " WHEN EXISTS (SELECT 1 FROM entry WHERE seq = NEW.seq)"
    " BEGIN SELECT RAISE(ABORT, 'entries are never replaced'); END",
    "CREATE TABLE schema_step (version INTEGER PRIMARY KEY, applied_at TEXT NOT NULL) STRICT",
)
"""The tables of version 2. A later version adds its step behind them, and never changes these."""


def prepare(connection: sqlite3.Connection) -> None:
    """Make the tables of a new journal. Raises BadInputError for a newer one, or another's."""
    if check(connection):
        connection.execute(chain.TABLE)
        return
    with connection:
        connection.execute("BEGIN IMMEDIATE")
        if check(connection):  # another process made them meanwhile
            return
        for statement in (*TABLES, chain.TABLE):
            connection.execute(statement)
        connection.execute(
            "INSERT INTO schema_step VALUES (?, strftime('%Y-%m-%dT%H:%M:%fZ'))", (VERSION,)
        )
        connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
        connection.execute(f"PRAGMA user_version = {VERSION}")


def check(connection: sqlite3.Connection) -> int:
    """Version of a journal; 0 for an empty file. Raises BadInputError where it is not ours."""
    (version,) = connection.execute("PRAGMA user_version").fetchone()
    (application,) = connection.execute("PRAGMA application_id").fetchone()
    (tables,) = connection.execute("SELECT count(*) FROM sqlite_master").fetchone()
    if tables and application != APPLICATION_ID:
        raise BadInputError("visit.sqlite is a database of another program: give another folder.")
    if version > VERSION:
        raise BadInputError(
            f"visit.sqlite has version {version}, this hornsweep knows up to {VERSION}:"
            " use a newer hornsweep."
        )
    return int(version)
