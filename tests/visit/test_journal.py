"""The journal: real files, a second process, entries that stay."""

from __future__ import annotations

import sqlite3
import subprocess
import sys
from datetime import date
from pathlib import Path

import pytest

from dictation.errors import BadInputError, MissingError, WrongUseError
from dictation.visit.facts import ExamSet, Gap, Happened, VisitOpened
from dictation.visit.inputs import By, ExamAdded, Noted, PhraseTyped
from dictation.visit.journal import JOURNAL_NAME, BusyError, Journal
from dictation.visit.parts import Frame
from dictation.visit.schema import VERSION
from dictation.visit.state import Act

OPENED = VisitOpened(date(2026, 11, 18))
VOICE = By("voice")


def add(journal: Journal, fact: Happened, seen: int = 0) -> Act:
    act = journal.append(Noted(fact), (fact,), VOICE, seen, journal.now())
    assert act is not None
    return act


def test_entries_come_back_in_order_with_their_time_and_who_gave_them(tmp_path: Path) -> None:
    anna = By("anna", "she was missed", based_on=1)
    added = ExamAdded(None, "900")
    with Journal.write(tmp_path) as journal:
        first = add(journal, OPENED)
        second = journal.append(added, (ExamSet(1, None, Frame()),), anna, 1, journal.now())
    with Journal.read(tmp_path) as journal:
        assert list(journal.acts()) == [first, second]
        assert list(journal.acts(after=1)) == [second]
        assert list(journal.evidence()) == [(2, added)]
    assert second is not None
    assert (second.seq, second.who, second.why) == (2, "anna", "she was missed")
    assert first.at.endswith("+00:00")


def test_what_came_in_is_found_by_its_kind(tmp_path: Path) -> None:
    typed = PhraseTyped(1, "open")
    with Journal.write(tmp_path) as journal:
        add(journal, OPENED)
        journal.append(typed, (), VOICE, 1, journal.now())
        journal.append(ExamAdded(None, None), (), VOICE, 2, journal.now())
        assert list(journal.evidence(PhraseTyped)) == [(2, typed)]


def test_nothing_is_added_on_what_was_not_seen(tmp_path: Path) -> None:
    with Journal.write(tmp_path) as journal, Journal.amend(tmp_path) as other:
        add(journal, OPENED)
        gap = Gap(0.0, 1.0, "unplugged")
        assert other.append(Noted(gap), (gap,), VOICE, 0, other.now()) is None
        assert [act.seq for act in journal.acts()] == [1]
        assert other.moved_on(0)
        assert not other.moved_on(1)
        add(other, gap, seen=1)
        assert [act.facts for act in journal.acts()] == [(OPENED,), (gap,)]


def test_the_facts_are_dumped_an_entry_a_line(tmp_path: Path) -> None:
    with Journal.write(tmp_path) as journal:
        add(journal, OPENED)
        add(journal, Gap(0.0, 1.0, "unplugged"), seen=1)
        assert journal.dump() == (
            '1 noted [{"is":"visit_opened","on_date":"2026-11-18"}]\n'
            '2 noted [{"from_s":0.0,"is":"gap","until_s":1.0,"why":"unplugged"}]\n'
        )


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE entry SET facts = '[]'",
        "DELETE FROM entry",
        "INSERT OR REPLACE INTO entry VALUES (1, 'a', 'noted', '', '', NULL, '{}', '[]')",
        "REPLACE INTO entry VALUES (1, 'a', 'noted', '', '', NULL, '{}', '[]')",
    ],
)
def test_an_entry_can_be_neither_changed_nor_deleted(tmp_path: Path, statement: str) -> None:
    with Journal.write(tmp_path) as journal:
        add(journal, OPENED)
    connection = sqlite3.connect(tmp_path / JOURNAL_NAME)
    with pytest.raises(sqlite3.IntegrityError, match="never"):
        connection.execute(statement)
    connection.close()


def test_it_is_written_through_and_knows_its_version(tmp_path: Path) -> None:
    with Journal.write(tmp_path) as journal:
        connection = journal._connection
        assert connection.execute("PRAGMA journal_mode").fetchone() == ("wal",)
        assert connection.execute("PRAGMA synchronous").fetchone() == (2,)
        assert connection.execute("PRAGMA user_version").fetchone() == (VERSION,)
        assert connection.execute("SELECT version FROM schema_step").fetchall() == [(VERSION,)]


def test_another_process_on_the_same_visit_is_told_and_can_read(tmp_path: Path) -> None:
    hold = (
        "import sys; from pathlib import Path; from dictation.visit.journal import Journal\n"
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
        assert list(journal.acts()) == []
        with pytest.raises(WrongUseError):
            add(journal, OPENED)
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
        add(journal, OPENED)
    connection = sqlite3.connect(tmp_path / JOURNAL_NAME)
    connection.execute(f"PRAGMA user_version = {VERSION + 1}")
    connection.close()
    with pytest.raises(BadInputError, match="newer"):
        Journal.write(tmp_path)


@pytest.mark.parametrize(
    "row",
    [
        "(2, 'now', 'noted', '', '', NULL, '{}', '[{\"is\":\"smelled\"}]')",
        "(2, 'now', 'smelled', '', '', NULL, '{}', '[]')",
    ],
)
def test_a_word_of_a_newer_version_is_named(tmp_path: Path, row: str) -> None:
    with Journal.write(tmp_path) as journal:
        add(journal, OPENED)
    connection = sqlite3.connect(tmp_path / JOURNAL_NAME)
    connection.execute(f"INSERT INTO entry VALUES {row}")
    connection.commit()
    connection.close()
    with Journal.read(tmp_path) as journal, pytest.raises(BadInputError, match="entry 2"):
        assert [*journal.acts(), *journal.evidence()]


def test_a_file_where_the_folder_should_be_is_told(tmp_path: Path) -> None:
    path = tmp_path / "visit"
    path.write_text("a file")
    with pytest.raises((WrongUseError, MissingError), match="visit"):
        Journal.write(path)
