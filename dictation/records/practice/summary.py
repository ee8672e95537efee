"""What many visits say: in calf by service, losses between visits, ages side by side, questions."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterable, Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from math import fsum, sqrt
from sqlite3 import Connection

from dictation.records.practice.gathering import FarmVisit
from dictation.records.practice.shares import Share
from dictation.records.practice.visit_lines import COLUMNS

LATE_SERVICES = 4
"""Services from this number on are counted together."""

LONGEST_DAYS = 290
"""An exam later than this is of another pregnancy; the longest breed mean is 288 days."""

AGE_BANDS = ((0, 42), (43, 60), (61, 120), (121, LONGEST_DAYS))
"""Days of pregnancy at the first of two exams; losses are most frequent to day 42 (NDSU 2018)."""

MOST_NAMED = 20


@dataclass(frozen=True, slots=True)
class Counted:
    """A share of one group: a service number, a sire, an inseminator, a span of days."""

    group: str
    share: Share


@dataclass(frozen=True, slots=True)
class Agreement:
    """Stated less measured age in days. Nineteen in twenty pairs lie within ``low`` and ``high``.

    Limits after Bland and Altman 1986, Lancet 327:307-310. ``within``: pairs no further apart than
    the error of the measured age.
    """

    pairs: int
    mean_days: float
    sd_days: float
    within: Share

    @property
    def low(self) -> float:
        """Lower limit of agreement."""
        return self.mean_days - 1.96 * self.sd_days

    @property
    def high(self) -> float:
        """Upper limit of agreement."""
        return self.mean_days + 1.96 * self.sd_days


@dataclass(frozen=True, slots=True)
class Summary:
    """``in_calf``: of services with a clear result, the first such exam of each counting."""

    exams: int
    animals: int
    in_calf: Share
    by_service: tuple[Counted, ...]
    by_sire: tuple[Counted, ...]
    by_inseminator: tuple[Counted, ...]
    losses: tuple[Counted, ...]
    agreement: Agreement | None
    asked: Share
    unsettled: Share


def summarise_practice(visits: Iterable[FarmVisit]) -> Summary:
    """The summary of visits as ``gather`` finds them."""
    with _exams_table(visits) as table:
        exams, animals, asked, unsettled = table.execute(_COUNTS).fetchone()
        table.execute(_CHECKED)
        (in_calf,) = table.execute("SELECT total(in_calf), count(*) FROM checked")
        return Summary(
            exams=exams,
            animals=animals,
            in_calf=_share(*in_calf),
            by_service=tuple(sorted(_by(table, "service"), key=lambda each: each.group)),
            by_sire=_by(table, "sire"),
            by_inseminator=_by(table, "inseminator"),
            losses=_losses(table),
            agreement=_agreement(table),
            asked=_share(asked, exams),
            unsettled=_share(unsettled, exams),
        )


_CREATE = f"CREATE TABLE exams (farm, visit, {', '.join(COLUMNS)})"
_INSERT = f"INSERT INTO exams VALUES ({', '.join('?' * (len(COLUMNS) + 2))})"

_COUNTS = """
SELECT count(*), (SELECT count(*) FROM (SELECT DISTINCT farm, tag FROM exams WHERE tag NOT NULL)),
    total(asked), total(unsettled)
FROM exams
"""

_CHECKED = f"""
CREATE TEMP TABLE checked AS
SELECT status = 'pregnant' AS in_calf, sire, inseminator,
    CASE WHEN service_number < {LATE_SERVICES} THEN service_number
        WHEN service_number NOT NULL THEN '{LATE_SERVICES} or later' END AS service
FROM (
    SELECT *, row_number() OVER (
        PARTITION BY farm, tag, service_on ORDER BY on_date, exam, visit
    ) AS look
    FROM exams
    WHERE status IN ('pregnant', 'open') AND service_on NOT NULL AND tag NOT NULL
)
WHERE look = 1
"""
"""One row a service that was checked: whether she was in calf at the first clear exam of it."""

_AGAIN = """
SELECT age_days, next IN ('open', 'lost') FROM (
    SELECT status, age_days, julianday(on_date) AS day,
        lead(status) OVER one AS next, julianday(lead(on_date) OVER one) AS next_day
    FROM exams
    WHERE tag NOT NULL AND status IN ('pregnant', 'open', 'lost')
    WINDOW one AS (PARTITION BY farm, tag ORDER BY on_date, exam, visit)
)
WHERE status = 'pregnant' AND next_day > day AND age_days + next_day - day <= ?
"""
"""Pregnancies that were looked at again: her days at the first look, and whether it was gone."""


@contextmanager
def _exams_table(visits: Iterable[FarmVisit]) -> Iterator[Connection]:
    """The table ``exams``: farm, the visit's place in the order given, and a line's fields."""
    with closing(sqlite3.connect(":memory:", isolation_level=None)) as table:
        table.execute(_CREATE)
        table.execute("BEGIN")
        for number, visit in enumerate(visits):
            lines = json.loads(b"[" + b",".join(visit.lines.body.splitlines()) + b"]")
            table.executemany(_INSERT, ((visit.farm, number, *each) for each in lines))
        table.execute("COMMIT")
        yield table


def _share(hits: float, total: int) -> Share:
    return Share(int(hits), total)


def _by(table: Connection, column: str) -> tuple[Counted, ...]:
    """Groups by how many services they have, the most first."""
    rows = table.execute(
        f"SELECT {column}, total(in_calf), count(*) AS services FROM checked"
        f" WHERE {column} NOT NULL GROUP BY {column} ORDER BY services DESC, {column} LIMIT ?",
        (MOST_NAMED,),
    )
    return tuple(Counted(str(group), _share(hits, total)) for group, hits, total in rows)


def _losses(table: Connection) -> tuple[Counted, ...]:
    """Of pregnancies that were looked at again, those lost, by days at the first look."""
    pairs = table.execute(_AGAIN, (LONGEST_DAYS,)).fetchall()
    found = []
    for first, last in AGE_BANDS:
        band = [gone for age_days, gone in pairs if first <= round(age_days) <= last]
        if band:
            found.append(Counted(f"{first} to {last} days", Share(sum(band), len(band))))
    every = Share(sum(gone for _, gone in pairs), len(pairs))
    return (Counted("all", every), *found) if found else ()


def _agreement(table: Connection) -> Agreement | None:
    both = table.execute(
        "SELECT stated_days - measured_days, measured_error_days FROM exams"
        " WHERE stated_days NOT NULL AND measured_days NOT NULL"
    ).fetchall()
    if len(both) < 2:
        return None
    mean = fsum(apart for apart, _ in both) / len(both)
    sd = sqrt(fsum((apart - mean) ** 2 for apart, _ in both) / (len(both) - 1))
    within = sum(abs(apart) <= error for apart, error in both)
    return Agreement(len(both), mean, sd, Share(within, len(both)))
