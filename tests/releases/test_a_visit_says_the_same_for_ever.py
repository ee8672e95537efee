"""Every visit that was ever kept says what it said: its findings, its questions, its approvals."""

from __future__ import annotations

import csv
import errno
import os
import shutil
import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest

from dictation.errors import MissingError
from dictation.intake.reading import read_visit
from dictation.intake.upgrade import KEPT_NAME, brought_up, journal_to_read, version_of
from dictation.records.csv_reading import read_csv_visit
from dictation.records.visit_files import write_records
from dictation.visit.apply import fold
from dictation.visit.facts import WORDS
from dictation.visit.inputs import INPUTS
from dictation.visit.journal import JOURNAL_NAME, Journal
from dictation.visit.words import input_from, input_text
from tests.releases import DUMP, JOURNAL, OF_FACTS, RELEASES, VISITS, restored

RECKONED = frozenset(
    {"age_days", "age_from", "age_error_days", "service_date", "due_date", "flags"}
)
OTHER_WORDS = frozenset({"detail", "unit"})
"""Columns whose form may change from version to version: what they tell is compared as read."""

RECKONED_ANEW = {
    # The rules of December 2026: a service that agrees is kept where word and measure do not,
    # heads give an age, no due date is past, and one doubt is one question.
    ("due_date", "", "2027-07-15"),
    ("due_date", "", "2027-07-22"),
    ("due_date", "2026-01-01", ""),
    ("due_date", "2026-07-23", ""),
    ("due_date", "2027-07-01", "2027-06-25"),
    ("service_date", "", "2026-10-09"),
    ("service_date", "", "2026-10-17"),
    ("service_date", "2026-09-27", "2026-09-21"),
    ("flags", "large_corpus_luteum_without_cavity", ""),
    ("flags", "", "measurements_disagree"),
    # Open, with an ovary or a horn that was not reached.
    ("flags", "", "open_out_of_reach"),
    ("flags", "", "sexes_of_twins"),
}
"""What this version reckons otherwise of animals that nobody approved: column, then and now, of
flags one by one. The errors of ages are reckoned anew for nearly all, and not listed."""

FILES = ("exams.csv", "findings.csv", "questions.csv")


def rows_of(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8-sig", newline="") as file:
        return list(csv.DictReader(file))


def same_files(kept: Path, written: Path, approved: frozenset[str] = frozenset()) -> None:
    """Column for column that was kept; a later version may have more of them."""
    for name in FILES:
        if (kept / name).is_file():
            was, now = rows_of(kept / name), rows_of(written / name)
            columns = set(was[0]) - OTHER_WORDS if was else set()
            if name == "exams.csv":
                columns -= RECKONED
                same_figures(was, now, approved)
            assert [{c: row[c] for c in columns} for row in now] == [
                {c: row[c] for c in columns} for row in was
            ], name


def same_figures(
    was: list[dict[str, str]], now: list[dict[str, str]], approved: frozenset[str]
) -> None:
    """Of approved animals to the letter; of the others but for what is listed."""
    for then, today in zip(was, now, strict=True):
        if then["exam"] in approved:
            assert {c: today[c] for c in RECKONED} == {c: then[c] for c in RECKONED}
            continue
        anew = {(c, then[c], today[c]) for c in RECKONED - {"age_error_days", "flags"}}
        rules, rules_now = (set(row["flags"].split("; ")) - {""} for row in (then, today))
        anew |= {("flags", rule.removeprefix("query: "), "") for rule in rules - rules_now}
        anew |= {("flags", "", rule.removeprefix("query: ")) for rule in rules_now - rules}
        assert {each for each in anew if each[1] != each[2]} <= RECKONED_ANEW


def same_findings(kept: Path, written: Path) -> None:
    """As read by this version, whatever the columns look like."""
    was, now = read_csv_visit(kept), read_csv_visit(written)
    assert [(e.number, e.tag, e.recorded) for e in now.exams] == [
        (e.number, e.tag, e.recorded) for e in was.exams
    ]


def files_of(folder: Path, into: Path) -> Path:
    """The CSV files that this version writes of the visit in a folder."""
    into.mkdir()
    visit, flags = read_visit(folder)
    write_records(into, visit, flags)
    return into


def everything_in(path: Path) -> list[str]:
    """All that a database holds, as SQL."""
    with closing(sqlite3.connect(f"{path.as_uri()}?mode=ro", uri=True)) as connection:
        return [
            str(connection.execute("PRAGMA user_version").fetchone()),
            *connection.iterdump(),
        ]


def bytes_in(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir() if path.is_file()}


def dump_of(folder: Path) -> str:
    with Journal.read(folder) as journal:
        return journal.dump()


@pytest.mark.parametrize("name", VISITS)
def test_a_visit_of_version_1_says_what_its_files_say(name: str, tmp_path: Path) -> None:
    folder = restored(name, tmp_path / "visit")
    brought_up(folder)
    written = files_of(folder, tmp_path / "written")
    kept = RELEASES / name
    if (kept / "exams.csv").is_file():
        same_files(kept, written)
        same_findings(kept, written)
    else:  # nothing tells what it meant: each animal is asked about
        visit, _ = read_visit(folder)
        assert visit.phrases
        assert all(exam.open_queries for exam in visit.exams if exam.standing)


def all_in_its_log(name: str, folder: Path) -> Path:
    """A visit as a program that was killed leaves it: what it wrote stands in the log alone."""
    restored(name, folder)
    path = folder / JOURNAL_NAME
    path.unlink()
    aside = folder / "aside"
    with closing(sqlite3.connect(aside)) as connection:
        connection.execute("PRAGMA journal_mode = WAL")
        connection.execute("PRAGMA wal_autocheckpoint = 0")
        connection.executescript((RELEASES / name / JOURNAL).read_text(encoding="utf-8"))
        shutil.copyfile(aside, path)
        shutil.copyfile(f"{aside}-wal", f"{path}-wal")
    for left in folder.glob("aside*"):
        left.unlink()
    return folder


@pytest.mark.parametrize("lay", [restored, all_in_its_log], ids=["closed", "killed"])
@pytest.mark.parametrize("name", VISITS)
def test_its_journal_is_kept_as_it_was_and_brought_up_only_once(
    name: str, lay: Callable[[str, Path], Path], tmp_path: Path
) -> None:
    folder = lay(name, tmp_path / "visit")
    before = everything_in(folder / JOURNAL_NAME)
    files = {name: held for name, held in bytes_in(folder).items() if name.endswith(".csv")}
    brought_up(folder)
    assert everything_in(folder / KEPT_NAME) == before
    assert version_of(folder) == 2
    after = bytes_in(folder)
    assert set(after) == {*files, JOURNAL_NAME, KEPT_NAME}
    assert {name: after[name] for name in files} == files
    told: list[str] = []
    brought_up(folder, told.append)
    assert bytes_in(folder) == after
    assert told == []


@pytest.mark.parametrize("name", VISITS)
def test_a_visit_that_cannot_be_written_is_read_from_a_copy(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = restored(name, tmp_path / "visit")
    before = bytes_in(folder)
    other = restored(name, tmp_path / "other")
    brought_up(other)
    moved = Path.replace

    def refused(path: Path, target: Path) -> Path:
        if path.parent == folder:
            raise OSError(errno.EROFS, "Read-only file system")
        return moved(path, target)

    monkeypatch.setattr(Path, "replace", refused)
    with pytest.raises(MissingError, match="cannot be written"):
        brought_up(folder)
    with journal_to_read(folder) as journal:
        assert journal.dump() == dump_of(other)
        assert journal.folder == folder
    assert bytes_in(folder) == before


class Dying:
    """Ends the process at the ``at``-th step that changes the disk, before or after it."""

    def __init__(self, at: int, after: bool) -> None:
        self.at, self.after, self.count = at, after, 0

    def step(self, do: Callable[..., Any]) -> Callable[..., Any]:
        def dying(*args: Any, **kwargs: Any) -> Any:
            self.count += 1
            if self.count == self.at and not self.after:
                os._exit(9)
            done = do(*args, **kwargs)
            if self.count == self.at:
                os._exit(9)
            return done

        return dying


def brought_up_until(folder: Path, dying: Dying) -> bool:
    """Bring a visit up in a process that dies; whether it came to its end."""
    child = os.fork()
    if not child:
        Path.replace = dying.step(Path.replace)  # type: ignore[method-assign]
        Path.unlink = dying.step(Path.unlink)  # type: ignore[method-assign]
        os.fsync = dying.step(os.fsync)
        try:
            brought_up(folder)
        finally:
            os._exit(0)
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == 0


@pytest.mark.skipif(os.name == "nt", reason="there is no fork")
@pytest.mark.parametrize("after", [False, True], ids=["before", "after"])
@pytest.mark.parametrize("lay", [restored, all_in_its_log], ids=["closed", "killed"])
def test_a_kill_in_the_middle_leaves_the_old_visit_or_the_new(
    lay: Callable[[str, Path], Path], after: bool, tmp_path: Path
) -> None:
    name = "2026-11-28/desk"
    whole = lay(name, tmp_path / "whole")
    before = everything_in(whole / JOURNAL_NAME)
    brought_up(whole)
    for at in range(1, 20):
        folder = lay(name, tmp_path / f"killed-{at}")
        ended = brought_up_until(folder, Dying(at, after))
        if version_of(folder) == 1:
            assert everything_in(folder / JOURNAL_NAME) == before
        else:
            assert dump_of(folder) == dump_of(whole)
        brought_up(folder)
        assert dump_of(folder) == dump_of(whole)
        assert everything_in(folder / KEPT_NAME) == before
        if ended:
            assert at > 3, "nothing was killed"
            return
    pytest.fail("it never came to its end")


@pytest.mark.parametrize("name", OF_FACTS)
def test_a_visit_of_facts_is_read_and_written_again_to_the_letter(
    name: str, tmp_path: Path
) -> None:
    folder = restored(name, tmp_path / "visit")
    assert dump_of(folder) == (RELEASES / name / DUMP).read_bytes().decode()
    with closing(sqlite3.connect(folder / JOURNAL_NAME)) as connection:
        rows = connection.execute("SELECT input, evidence FROM entry").fetchall()
    for word, text in rows:
        came_in = input_from(word, text)
        assert came_in is None or input_text(came_in) == text


@pytest.mark.parametrize("name", OF_FACTS)
def test_a_visit_of_facts_says_what_its_files_say(name: str, tmp_path: Path) -> None:
    folder = restored(name, tmp_path / "visit")
    before = bytes_in(folder)
    written = files_of(folder, tmp_path / "written")
    visit, _ = read_visit(folder)
    approved = frozenset(str(e.number) for e in visit.exams if e.approved is not None)
    same_files(RELEASES / name, written, approved)
    same_findings(RELEASES / name, written)
    assert bytes_in(folder)[JOURNAL_NAME] == before[JOURNAL_NAME]


def test_every_kind_of_fact_and_input_is_among_the_visits_kept(tmp_path: Path) -> None:
    facts: set[type] = set()
    kinds: set[str] = set()
    for name in OF_FACTS:
        with Journal.read(restored(name, tmp_path / name)) as journal:
            for act in journal.acts():
                kinds.add(act.kind)
                facts |= {type(fact) for fact in act.facts}
    assert facts == set(WORDS)
    assert kinds == set(INPUTS.values())


def test_an_approved_exam_keeps_its_figures_for_ever(tmp_path: Path) -> None:
    with Journal.read(restored("2026-11-28-facts/approved", tmp_path / "visit")) as journal:
        visit = fold(journal.acts())
    approved = {e.number: e.approved.age for e in visit.exams if e.approved is not None}
    assert {number: (age.age_days, str(age.due_date)) for number, age in approved.items()} == {
        1: (45, "2027-07-10"),
        3: (60, "2027-06-28"),
    }
    assert visit.approval(2) is not None, "somebody did, before it changed"
    assert not visit.is_approved(2)
