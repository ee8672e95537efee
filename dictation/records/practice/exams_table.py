"""The lines of many visits as one table in memory, one row an exam, to be asked in SQL."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterable, Iterator
from contextlib import closing, contextmanager
from dataclasses import fields
from operator import itemgetter

from dictation.records.practice.exam_lines import ExamLine
from dictation.records.practice.gathering import FarmVisit

_COLUMNS = tuple(field.name for field in fields(ExamLine))
_CREATE = f"CREATE TABLE exams (farm, visit, {', '.join(_COLUMNS)})"
_INSERT = f"INSERT INTO exams VALUES ({', '.join('?' * (len(_COLUMNS) + 2))})"


@contextmanager
def exams_table(visits: Iterable[FarmVisit]) -> Iterator[sqlite3.Connection]:
    """The table ``exams``: farm, the visit's place in the order given, and a line's fields."""
    with closing(sqlite3.connect(":memory:", isolation_level=None)) as table:
        table.execute(_CREATE)
        table.execute("BEGIN")
        for number, visit in enumerate(visits):
            lines = json.loads(b"[" + b",".join(visit.lines.body.splitlines()) + b"]")
            values = map(itemgetter(*_COLUMNS), lines)
            table.executemany(_INSERT, ((visit.farm, number, *each) for each in values))
        table.execute("COMMIT")
        yield table
