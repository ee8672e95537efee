"""The tables of a journal, as numbered steps. Each is applied in one transaction and recorded."""

from __future__ import annotations

import sqlite3

from dictation.errors import BadInputError

APPLICATION_ID = 0x686F726E
"""SQLite's application id of a journal: the letters 'horn'."""

STEPS: tuple[tuple[str, ...], ...] = (
    (
        "CREATE TABLE event ("
        " seq INTEGER PRIMARY KEY,"
        " at TEXT NOT NULL,"
        " kind TEXT NOT NULL,"
        " body TEXT NOT NULL CHECK (json_valid(body))"
        ") STRICT",
        "CREATE TRIGGER event_never_changes BEFORE UPDATE ON event"
        " BEGIN SELECT RAISE(ABORT, 'events are never changed'); END",
        "CREATE TRIGGER event_never_goes BEFORE DELETE ON event"
        " BEGIN SELECT RAISE(ABORT, 'events are never deleted'); END",
        "CREATE TRIGGER event_never_replaced BEFORE INSERT ON event"
        " WHEN EXISTS (SELECT 1 FROM event WHERE seq = NEW.seq)"
        " BEGIN SELECT RAISE(ABORT, 'events are never replaced'); END",
        "CREATE TABLE schema_step (version INTEGER PRIMARY KEY, applied_at TEXT NOT NULL) STRICT",
    ),
)
"""Step n brings a journal from version n to n + 1."""


def prepare(connection: sqlite3.Connection) -> None:
    """Bring a new or older journal to today's version. Raises BadInputError for a newer one."""
    version = check(connection)
    for number, step in enumerate(STEPS[version:], start=version + 1):
        with connection:
            connection.execute("BEGIN IMMEDIATE")
            for statement in step:
                connection.execute(statement)
            connection.execute(
                "INSERT INTO schema_step VALUES (?, strftime('%Y-%m-%dT%H:%M:%fZ'))", (number,)
            )
            connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
            connection.execute(f"PRAGMA user_version = {number}")


def check(connection: sqlite3.Connection) -> int:
    """Version of a journal; 0 for an empty file. Raises BadInputError where it is not ours."""
    (version,) = connection.execute("PRAGMA user_version").fetchone()
    (application,) = connection.execute("PRAGMA application_id").fetchone()
    (tables,) = connection.execute("SELECT count(*) FROM sqlite_master").fetchone()
    if tables and application != APPLICATION_ID:
        raise BadInputError("visit.sqlite is a database of another program: give another folder.")
    if version > len(STEPS):
        raise BadInputError(
            f"visit.sqlite has version {version}, this hornsweep knows up to {len(STEPS)}:"
            " use a newer hornsweep."
        )
    return int(version)
