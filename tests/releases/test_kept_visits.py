"""Kept visits are laid out as their version left them."""

from __future__ import annotations

import json
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from tests.releases import RELEASES, VISITS, restored

HORN = 0x686F726E
"""The application id of every journal."""


def test_each_version_kept_its_visits() -> None:
    assert {name.split("/")[0] for name in VISITS} == {"2026-11-25", "2026-11-28"}
    assert len(VISITS) == 24


@pytest.mark.parametrize("name", VISITS)
def test_a_kept_visit_is_a_journal_of_version_1_that_refuses_changes(
    name: str, tmp_path: Path
) -> None:
    folder = restored(name, tmp_path / "visit")
    with closing(sqlite3.connect(folder / "visit.sqlite")) as connection:
        assert connection.execute("PRAGMA application_id").fetchone() == (HORN,)
        assert connection.execute("PRAGMA user_version").fetchone() == (1,)
        events = connection.execute("SELECT seq, kind, body FROM event ORDER BY seq").fetchall()
        assert [seq for seq, _, _ in events] == list(range(1, len(events) + 1))
        assert events[0][1] == "visit_opened"
        assert all(json.loads(body)["is"] for _, _, body in events)
        with pytest.raises(sqlite3.IntegrityError, match="never changed"):
            connection.execute("UPDATE event SET at = ''")
        with pytest.raises(sqlite3.IntegrityError, match="never deleted"):
            connection.execute("DELETE FROM event")
        with pytest.raises(sqlite3.IntegrityError, match="never replaced"):
            connection.execute("INSERT OR REPLACE INTO event VALUES (1, '', '', '{}')")


@pytest.mark.parametrize("name", VISITS)
def test_the_csv_files_lie_beside_it_byte_for_byte(name: str, tmp_path: Path) -> None:
    folder = restored(name, tmp_path / "visit")
    files = {path.name: path.read_bytes() for path in folder.glob("*.csv")}
    assert files == {path.name: path.read_bytes() for path in (RELEASES / name).glob("*.csv")}
    unwritten = name.endswith(("never_written", "stopped_short"))
    assert bool(files) is not unwritten
