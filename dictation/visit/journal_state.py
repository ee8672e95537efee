"""Which journal this is and how far it has come, without reading it through.

An export needs this to be repeated: which visit it is among all, and when it was last changed.
"""

from __future__ import annotations

import sqlite3
from contextlib import closing
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from uuid import NAMESPACE_URL, UUID, uuid5

from dictation.errors import BadInputError
from dictation.gate import gate
from dictation.visit.journal import JOURNAL_NAME
from dictation.visit.schema import APPLICATION_ID


@dataclass(frozen=True, slots=True)
class JournalState:
    """``opened_at``, ``changed_at``: UTC ISO 8601 of the first entry and of ``last_seq``."""

    opened_at: str
    changed_at: str
    last_seq: int


def journal_state(folder: Path, last_seq: int | None = None) -> JournalState:
    """The state of the journal in a folder; ``last_seq``: as it was after that entry.

    Raises BadInputError where there is no journal, or no such entry in it.
    """
    path = folder / JOURNAL_NAME
    if not path.is_file():
        raise BadInputError(f"{folder} holds no visit: there is no {JOURNAL_NAME} in it.")
    try:
        with closing(sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro", uri=True)) as connection:
            (application,) = connection.execute("PRAGMA application_id").fetchone()
            if application != APPLICATION_ID:
                raise BadInputError(f"{path} is a database of another program.")
            rows = connection.execute(
                "SELECT seq, at FROM entry"
                " WHERE seq = 1 OR seq = coalesce(?, (SELECT max(seq) FROM entry)) ORDER BY seq",
                (last_seq,),
            ).fetchall()
    except (sqlite3.DatabaseError, UnicodeDecodeError) as error:
        raise BadInputError(f"{path} cannot be read ({error}): put a copy of it back.") from error
    if not rows:
        raise BadInputError(f"{folder} holds no visit yet: nothing was recorded in it.")
    if last_seq is not None and rows[-1][0] != last_seq:
        raise BadInputError(f"{path} has no entry {last_seq}.")
    return JournalState(rows[0][1], rows[-1][1], rows[-1][0])


@dataclass(frozen=True, slots=True)
class Origin:
    """A visit among all visits. ``opened_at``, ``changed_at``: UTC of its first and last entry.

    ``revision``: number of its last entry; it only ever grows.
    """

    opened_at: datetime
    changed_at: datetime
    revision: int

    def identifier(self, *parts: object) -> UUID:
        """The same for the same visit and parts, wherever and whenever it is asked for."""
        name = "/".join((self.opened_at.isoformat(), *(str(part) for part in parts)))
        return uuid5(NAMESPACE_URL, f"hornsweep:{name}")


def origin_of(folder: Path) -> Origin:
    """The origin of the visit in a folder. Raises BadInputError where there is none."""
    state = journal_state(folder)
    with gate(folder / JOURNAL_NAME, "put a copy of it back"):
        return Origin(_moment(state.opened_at), _moment(state.changed_at), state.last_seq)


def _moment(at: str) -> datetime:
    moment = datetime.fromisoformat(at)
    return moment.replace(tzinfo=UTC) if moment.tzinfo is None else moment.astimezone(UTC)
