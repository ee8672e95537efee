"""exams.csv and findings.csv: the columns of the contract, whole, and harmless."""

from __future__ import annotations

import csv
import io
import os
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dictation.errors import MissingError
from dictation.records.cells import plain_text, table, text_cell
from dictation.records.visit_files import exams_csv, findings_csv, write_csv
from dictation.visit.state import Visit
from grammar.checks import check_exam
from grammar.exam import Exam
from tests.decide.spoken import Chatter, Unsure, visit_of

EXAMS = (
    "exam,tag,electronic_id,started_at,status,age_days,age_from,age_error_days,service_date,"
    "due_date,fetuses,fetal_sex,left_ovary,right_ovary,uterus,plan,recheck_date,not_seen,queries,"
    "flags,notes"
)
FINDINGS = "exam,tag,at_s,until_s,finding,side,detail,value,unit,fetus,heard,confidence,state"


def rows(content: bytes) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(content.decode("utf-8"), newline="")))


def exams_of(visit: Visit) -> list[dict[str, str]]:
    return rows(exams_csv(visit.exams, {e.number: check_exam(e) for e in visit.exams}))


def test_the_columns_are_those_of_the_contract() -> None:
    assert exams_csv((), {}).decode() == EXAMS + "\r\n"
    assert findings_csv(()).decode() == FINDINGS + "\r\n"


def test_an_exam_is_one_row_with_its_age_and_dates() -> None:
    visit = visit_of(
        "cow oh four one two",
        "left ovary CL twenty-two, follicle nine",
        "right ovary could not reach",
        "pregnant forty-five days",
        "recheck in two weeks",
    )
    (row,) = exams_of(visit)
    assert plain_text(row["tag"]) == "0412"
    assert row["status"] == "pregnant"
    assert (row["age_days"], row["age_from"]) == ("45", "stated")
    assert row["service_date"] == "2026-10-04"
    assert row["left_ovary"] == "corpus luteum 22 mm; follicle 9 mm"
    assert row["right_ovary"] == "could not reach"
    assert row["not_seen"] == "right ovary"
    assert row["plan"] == "recheck in 14 days"
    assert row["recheck_date"] == "2026-12-02"


def test_what_was_not_said_is_empty_and_never_zero() -> None:
    (row,) = exams_of(visit_of("cow eight three seven", "open"))
    for column in ("age_days", "due_date", "fetuses", "fetal_sex", "left_ovary", "notes"):
        assert row[column] == ""


def test_what_was_said_two_ways_is_empty_and_flagged() -> None:
    (row,) = exams_of(visit_of("cow eight three seven", "open", "pregnant"))
    assert row["status"] == ""
    assert "pregnant_and_open" in row["flags"]


def test_findings_keep_what_was_heard_and_their_state() -> None:
    visit = visit_of(
        "cow eight three seven",
        Unsure("left ovary CL forty", ("left ovary CL fourteen",)),
        "open",
        "scratch that",
    )
    found = rows(findings_csv(visit.exams))
    assert [row["state"] for row in found] == ["accepted", "queried", "withdrawn"]
    ovary = found[1]
    assert (ovary["finding"], ovary["side"], ovary["value"], ovary["unit"]) == (
        "ovary",
        "left",
        "40",
        "mm",
    )
    assert ovary["heard"] == "left ovary cl forty"
    assert (ovary["at_s"], ovary["confidence"]) == ("20", "0.5")


HOSTILE = ("=1+1", "+1", "-1", "@SUM(A1)", "\tx", "\rx", "'=1", "''", '"quoted", twice', "a\nb")


@pytest.mark.parametrize("text", HOSTILE)
def test_a_note_cannot_be_run_as_a_formula_and_comes_back_as_it_was(text: str) -> None:
    visit = visit_of("cow eight three seven", "take a note", Chatter(text))
    note = rows(findings_csv(visit.exams))[1]["detail"]
    assert not note.startswith(("=", "+", "-", "@", "\t", "\r"))
    assert note == f"text={text}"


def test_numbers_stay_numbers() -> None:
    numbers = [(-1.5, 22.0, 28799.75, 0.1 + 0.2)]
    assert table(("a", "b", "c", "d"), numbers).decode().splitlines()[1] == "-1.5,22,28799.75,0.3"


@given(st.text())
def test_any_text_comes_back_from_a_cell(text: str) -> None:
    assert plain_text(text_cell(text)) == text


@given(st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0")))
def test_any_text_comes_back_from_a_file(text: str) -> None:
    content = table(("a", "b"), [(text, "end")])
    (_, row) = csv.reader(io.StringIO(content.decode("utf-8"), newline=""))
    assert [plain_text(each) for each in row] == [text, "end"]


def exam() -> tuple[Exam, ...]:
    return visit_of("cow eight three seven", "open").exams


def test_both_files_are_replaced_and_no_part_is_left(tmp_path: Path) -> None:
    write_csv(tmp_path, (), {})
    paths = write_csv(tmp_path, exam(), {})
    assert sorted(path.name for path in tmp_path.iterdir()) == ["exams.csv", "findings.csv"]
    assert all(b"837" in path.read_bytes() for path in paths)


@pytest.fixture
def full_disk(tmp_path: Path) -> Iterator[Path]:
    """A file system with one page of room."""
    mount = tmp_path / "full"
    mount.mkdir()
    if os.name != "posix":
        pytest.skip("a full disk: no tmpfs on this system")
    command = ["mount", "-t", "tmpfs", "-o", "size=64k", "tmpfs", str(mount)]
    try:
        done = subprocess.run(command, capture_output=True, check=False)
    except FileNotFoundError:
        pytest.skip("a full disk: there is no mount command")
    if done.returncode != 0:
        pytest.skip("a full disk: a tmpfs may not be mounted here")
    yield mount
    subprocess.run(["umount", str(mount)], check=True)


def test_on_a_full_disk_the_old_files_stay_as_they_were(full_disk: Path) -> None:
    write_csv(full_disk, exam(), {})
    before = (full_disk / "exams.csv").read_bytes()
    with pytest.raises(OSError, match="No space"):
        (full_disk / "filler").write_bytes(b"x" * 100_000)
    with pytest.raises(MissingError, match="no room"):
        write_csv(full_disk, exam() * 200, {})
    assert (full_disk / "exams.csv").read_bytes() == before
    assert not list(full_disk.glob(".*.part"))
