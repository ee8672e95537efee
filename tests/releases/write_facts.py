"""Writes visits of facts, to be kept: ``python -m tests.releases.write_facts OUT``.

It was run once, by the version that first wrote facts, into ``2026-11-28-facts``. Never run it
again over visits that are kept: they are what people have on their disks, and a later version must
read them as they are. A later version writes its own, into a folder of its own.

Each visit is told by phrases and deeds in ``told_facts``. Of each its journal is kept as SQL, what
``Journal.dump`` says of it, and its CSV files. Farms, animals and people are invented.
"""

from __future__ import annotations

import sqlite3
import sys
import tempfile
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path

from dictation.decide.record import Record
from dictation.records.visit_files import write_records
from dictation.visit.journal import JOURNAL_NAME, Journal
from tests.decide.spoken import come_in
from tests.releases.told_facts import VISITS, Told


class Ticking:
    """A clock that goes on by seven seconds whenever it is read."""

    def __init__(self) -> None:
        self._at = datetime(2026, 11, 18, 9, tzinfo=UTC)

    def now(self) -> datetime:
        """The next moment."""
        self._at += timedelta(seconds=7)
        return self._at


def written(folder: Path, told: tuple[Told, ...]) -> Record:
    """The visit that comes of what is told, in a folder."""
    record = Record(Journal.write(folder, Ticking()))
    for each in told:
        given, by = come_in(record.visit, each)
        record.take(given, by)
    return record


def keep(folder: Path, kept: Path) -> None:
    """What is kept of the visit in ``folder``: its journal as SQL that restores it whole."""
    with closing(sqlite3.connect(folder / JOURNAL_NAME)) as connection:
        pragmas = [
            f"PRAGMA {name} = {connection.execute(f'PRAGMA {name}').fetchone()[0]};"
            for name in ("application_id", "user_version")
        ]
        sql = "\n".join([*pragmas, *connection.iterdump()]) + "\n"
    (kept / "journal.sql").write_bytes(sql.encode())


def main(out: Path) -> None:
    """Write each visit below a folder that is not there yet."""
    out.mkdir()
    for name, told in VISITS.items():
        kept = out / name
        kept.mkdir()
        with tempfile.TemporaryDirectory() as temporary:
            folder = Path(temporary)
            with written(folder, told) as record:
                (kept / "dump.txt").write_bytes(record.journal.dump().encode())
                write_records(kept, record.visit, record.flags)
            keep(folder, kept)


if __name__ == "__main__":
    main(Path(sys.argv[1]))
