"""The journal: real files, a second process, events that stay."""

from __future__ import annotations

import sqlite3
import subprocess
import sys
from datetime import date
from pathlib import Path

import pytest
from dictation.session.events import Gap, VisitOpened
from dictation.session.journal import JOURNAL_NAME, BusyError, Journal
from dictation.session.schema import STEPS

from dictation.errors import BadInputError, MissingError, WrongUseError

OPENED = VisitOpened(date(2026, 11, 18))


def test_events_come_back_in_order_with_their_time(tmp_path: Path) -> None:
    with Journal.write(tmp_path) as journal:
        first = journal.append(OPENED)
        second = journal.append(Gap(0.0, 1.0, "unplugged"))
    with Journal.read(tmp_path) as journal:
        assert list(journal.entries()) == [first, second]
        assert list(journal.entries(after=1)) == [second]
    assert (first.seq, second.seq) == (1, 2)
    assert first.at.endswith("+00:00")


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE event SET body = '{}'",
        "DELETE FROM event",
        "INSERT OR REPLACE INTO event VALUES (1, 'a', 'gap', '{}')",
        "REPLACE INTO event VALUES (1, 'a', 'gap', '{}')",
    ],
)
def test_an_event_can_be_neither_changed_nor_deleted(tmp_path: Path, statement: str) -> None:
    with Journal.write(tmp_path) as journal:
        journal.append(OPENED)
    connection = sqlite3.connect(tmp_path / JOURNAL_NAME)
    with pytest.raises(sqlite3.IntegrityError, match="never"):
        connection.execute(statement)
    connection.close()


def test_it_is_written_through_and_knows_its_version(tmp_path: Path) -> None:
    with Journal.write(tmp_path) as journal:
        connection = journal._connection
        assert connection.execute("PRAGMA journal_mode").fetchone() == ("wal",)
        assert connection.execute("PRAGMA synchronous").fetchone() == (2,)
        assert connection.execute("PRAGMA user_version").fetchone() == (len(STEPS),)
        assert connection.execute("SELECT version FROM schema_step").fetchall() == [(1,)]


def test_another_process_on_the_same_visit_is_told_and_can_read(tmp_path: Path) -> None:
    hold = (
        "import sys; from pathlib import Path; from dictation.session.journal import Journal\n"
        "journal = Journal.write(Path(sys.argv[1])); print('held', flush=True); sys.stdin.read()"
    )
    process = subprocess.Popen(
        [sys.executable, "-c", hold, str(tmp_path)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    assert process.stdout is not None
    assert process.stdout.readline() == "held\n"
    with pytest.raises(BusyError, match="can be read meanwhile"):
        Journal.write(tmp_path)
    with Journal.read(tmp_path) as journal:
        assert journal.read_only
        assert list(journal.entries()) == []
        with pytest.raises(WrongUseError):
            journal.append(OPENED)
    process.kill()
    process.communicate()
    with Journal.write(tmp_path) as journal:
        assert not journal.read_only


def test_a_folder_without_a_visit_cannot_be_read(tmp_path: Path) -> None:
    with pytest.raises(BadInputError, match="holds no visit"):
        Journal.read(tmp_path)


def test_a_file_that_is_no_journal_is_left_alone(tmp_path: Path) -> None:
    path = tmp_path / JOURNAL_NAME
    path.write_bytes(b"this is not a database at all, but it is long enough to look at" * 20)
    before = path.read_bytes()
    with pytest.raises(BadInputError, match="no journal"):
        Journal.write(tmp_path)
    assert path.read_bytes() == before


def test_a_database_of_another_program_is_left_alone(tmp_path: Path) -> None:
    connection = sqlite3.connect(tmp_path / JOURNAL_NAME)
    connection.execute("CREATE TABLE milk (litres)")
    connection.commit()
    connection.close()
    with pytest.raises(BadInputError, match="another program"):
        Journal.write(tmp_path)


def test_a_journal_of_a_newer_version_is_refused(tmp_path: Path) -> None:
    with Journal.write(tmp_path) as journal:
        journal.append(OPENED)
    connection = sqlite3.connect(tmp_path / JOURNAL_NAME)
    connection.execute(f"PRAGMA user_version = {len(STEPS) + 1}")
    connection.close()
    with pytest.raises(BadInputError, match="newer"):
        Journal.write(tmp_path)


def test_a_kind_of_a_newer_version_is_named(tmp_path: Path) -> None:
    with Journal.write(tmp_path) as journal:
        journal.append(OPENED)
    connection = sqlite3.connect(tmp_path / JOURNAL_NAME)
    connection.execute("INSERT INTO event VALUES (2, 'now', 'smelled', '{}')")
    connection.commit()
    connection.close()
    with Journal.read(tmp_path) as journal, pytest.raises(BadInputError, match="event 2"):
        list(journal.entries())


def test_a_file_where_the_folder_should_be_is_told(tmp_path: Path) -> None:
    path = tmp_path / "visit"
    path.write_text("a file")
    with pytest.raises((WrongUseError, MissingError), match="visit"):
        Journal.write(path)


def test_a_journal_kept_from_the_first_version_still_opens(tmp_path: Path) -> None:
    kept = Path(__file__).parent / "kept_journal_1.sql"
    connection = sqlite3.connect(tmp_path / JOURNAL_NAME)
    connection.executescript(kept.read_text(encoding="utf-8"))
    connection.close()
    with Journal.write(tmp_path) as journal:
        events = [entry.event for entry in journal.entries()]
    assert events[0] == OPENED
    assert len(events) == 4
