"""Visits written at once: inputs decided in memory, their entries put into a journal together."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable
from contextlib import closing
from pathlib import Path

from dictation.decide import decide
from dictation.visit import schema
from dictation.visit.apply import after
from dictation.visit.inputs import INPUTS, By, Input
from dictation.visit.journal import AUDIO_FOLDER, JOURNAL_NAME
from dictation.visit.state import Act, Visit
from dictation.visit.words import facts_text, input_text, phrase_of

AT = "2024-01-08T09:00:00.000+00:00"

Row = tuple[object, ...]


def rows_of(inputs: Iterable[Input]) -> list[Row]:
    """The entries that inputs lead to, one after the other, as rows of a journal."""
    visit, by = Visit(), By("voice")
    rows: list[Row] = []
    for given in inputs:
        facts = decide(visit, given, by, AT)
        kind = INPUTS[type(given)]
        act = Act(visit.last_seq + 1, AT, kind, by.who, by.why, phrase_of(given), facts)
        visit = after(visit, act)
        rows.append(
            (act.seq, AT, kind, act.who, "", act.phrase, input_text(given), facts_text(facts))
        )
    return rows


def write_rows(folder: Path, rows: Iterable[Row]) -> None:
    """A visit's folder with these entries, committed together."""
    (folder / AUDIO_FOLDER).mkdir(parents=True, exist_ok=True)
    with closing(sqlite3.connect(folder / JOURNAL_NAME)) as connection:
        connection.execute("PRAGMA synchronous = OFF")
        schema.prepare(connection)
        with connection:
            connection.executemany(
                "INSERT INTO entry (seq, at, input, who, why, phrase, evidence, facts)"
                " VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
                rows,
            )
