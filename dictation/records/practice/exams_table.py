"""The lines of many visits as one table in memory, one row an exam, to be asked in SQL."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterable, Iterator
from contextlib import closing, contextmanager

from dictation.records.practice.gathering import FarmVisit
from dictation.records.practice.visit_lines import COLUMNS

_CREATE = f"CREATE TABLE exams (farm, visit, {', '.join(COLUMNS)})"
_INSERT = f"INSERT INTO exams VALUES ({', '.join('?' * (len(COLUMNS) + 2))})"


@contextmanager
def exams_table(visits: Iterable[FarmVisit]) -> Iterator[sqlite3.Connection]:
    """The table ``exams``: farm, the visit's place in the order given, and a line's fields."""
    with closing(sqlite3.connect(":memory:", isolation_level=None)) as table:
        table.execute(_CREATE)
        table.execute("BEGIN")
        for number, visit in enumerate(visits):
            lines = json.loads(b"[" + b",".join(visit.lines.body.splitlines()) + b"]")
            table.executemany(_INSERT, ((visit.farm, number, *each) for each in lines))
        table.execute("COMMIT")
        yield table
