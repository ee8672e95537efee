"""A visit exported as CSV and imported again is the same visit, and can be gone on with."""

from __future__ import annotations

from pathlib import Path

import pytest

from dictation.cli.app import run

PHRASES = (
    "cow 0412",
    "left ovary CL twenty-two, follicle nine",
    "scratch that",
    "pregnant forty-five days, right horn",
    "mumble the crown rump sideways fifteen",
    "recheck in two weeks",
    "next cow 837",
    "open",
    "prostaglandin",
    "note =1+1",
)
HERD = "tag,breed,calved_on,service_1\n0412,Jersey,2026-07-01,2026-10-04\n837,,,\n"


@pytest.fixture
def visit(tmp_path: Path) -> Path:
    (tmp_path / "herd.csv").write_text(HERD, encoding="utf-8")
    phrases = tmp_path / "phrases.txt"
    phrases.write_text("\n".join(PHRASES) + "\n", encoding="utf-8")
    folder = tmp_path / "visit"
    herd = str(tmp_path / "herd.csv")
    arguments = ["replay", str(phrases), "--out", str(folder), "--herd", herd]
    assert run([*arguments, "--date", "2026-11-18T09:00"]) == 0
    return folder


def files(folder: Path) -> tuple[bytes, ...]:
    names = ("exams.csv", "findings.csv", "questions.csv")
    return tuple((folder / name).read_bytes() for name in names)


def test_the_files_of_the_imported_visit_are_the_same(visit: Path, tmp_path: Path) -> None:
    out = tmp_path / "again"
    herd = str(tmp_path / "herd.csv")
    assert run(["import", "visit", str(visit), "--herd", herd, "--out", str(out)]) == 0
    assert b"Not understood" in files(visit)[0]
    assert files(out) == files(visit)
    assert run(["export", str(out), "--to", "csv", "--out", str(tmp_path / "third")]) == 0
    assert files(tmp_path / "third") == files(visit)


def test_an_imported_visit_can_be_gone_on_with(visit: Path, tmp_path: Path) -> None:
    out = tmp_path / "again"
    herd = str(tmp_path / "herd.csv")
    assert run(["import", "visit", str(visit), "--herd", herd, "--out", str(out)]) == 0
    more = tmp_path / "more.txt"
    more.write_text("cow 99\nopen\n", encoding="utf-8")
    assert run(["replay", str(more), "--out", str(out), "--date", "2026-11-18"]) == 0
    before, after = files(visit)[0].decode(), files(out)[0].decode()
    assert after.startswith(before)
    assert "\r\n3,99," in after


def test_a_mistake_leaves_no_folder_behind(
    visit: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = visit / "findings.csv"
    path.write_bytes(path.read_bytes().replace(b"corpus_luteum", b"corpus"))
    out = tmp_path / "again"
    assert run(["import", "visit", str(visit), "--out", str(out)]) == 3
    assert "findings.csv: line" in capsys.readouterr().err
    assert not out.exists()
    assert not list(tmp_path.glob(".*.part"))


def test_a_folder_that_holds_something_is_not_written_into(
    visit: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["import", "visit", str(visit), "--out", str(visit)]) == 2
    assert "give a new folder" in capsys.readouterr().err


def test_without_a_day_it_is_asked_for(
    visit: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = visit / "exams.csv"
    path.write_bytes(path.read_bytes().replace(b"2026-11-18T09:00:00", b""))
    out = str(tmp_path / "again")
    assert run(["import", "visit", str(visit), "--out", out]) == 2
    assert "--date" in capsys.readouterr().err
    assert run(["import", "visit", str(visit), "--date", "2026-11-18", "--out", out]) == 0


def test_a_question_between_two_animals_is_left_out_by_name(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    said = tmp_path / "said.txt"
    said.write_text("cow 5\nopen\nclose\nmumble the crown rump\n", encoding="utf-8")
    visit, out = str(tmp_path / "visit"), str(tmp_path / "again")
    assert run(["replay", str(said), "--out", visit, "--date", "2026-11-18"]) == 0
    capsys.readouterr()
    assert run(["import", "visit", visit, "--date", "2026-11-18", "--out", out]) == 0
    told = capsys.readouterr().err
    assert "asked between two animals: Not understood: 'mumble the crown rump'" in told
