"""``hornsweep import herd`` and ``hornsweep plan``, as a person types them."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from dictation.cli.app import run

LIST = (
    "Cow;Calved;Last AI;Notes\r\n"
    "837;12.07.2026;04.10.2026;=1+1\r\n"
    "412;30.06.2026;;[red]\x1b[31m\r\n"
)


@pytest.fixture
def cows(tmp_path: Path) -> Path:
    path = tmp_path / "cows.csv"
    path.write_bytes(LIST.encode("utf-8"))
    return path


def told(capsys: pytest.CaptureFixture[str]) -> str:
    read = capsys.readouterr()
    return read.out + read.err


def test_a_list_is_shown_confirmed_kept_and_used(
    cows: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["plan", "--herd", str(cows), "--date", "2026-11-18"]) == 3
    assert "import herd" in told(capsys)
    assert run(["import", "herd", str(cows), "--yes"]) == 0
    shown = told(capsys)
    assert "service_1" in shown
    assert "day first" in shown
    assert "\x1b[31m" not in shown
    assert run(["plan", "--herd", str(cows), "--date", "2026-11-18"]) == 0
    planned = " ".join(capsys.readouterr().out.split())
    assert "2 of 2 on the list" in planned
    assert "served 45 days ago and not checked since" in planned
    assert "calved 141 days ago and not served since" in planned


def test_without_an_answer_nothing_is_kept(
    cows: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    import io

    monkeypatch.setattr("sys.stdin", io.StringIO("n\n"))
    assert run(["import", "herd", str(cows)]) == 0
    assert "Nothing was kept" in told(capsys)
    assert list(cows.parent.glob("*.toml")) == []


def test_dates_that_fit_two_orders_must_be_told_apart_by_a_person(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "cows.csv"
    path.write_text("Cow,Calved\n5,03/02/2026\n", encoding="utf-8")
    assert run(["import", "herd", str(path), "--yes"]) == 2
    assert "--date-order" in told(capsys)
    assert run(["import", "herd", str(path), "--yes", "--date-order", "mdy"]) == 0
    assert 'date_order = "mdy"' in (tmp_path / "herd-list.toml").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (["--column", "Cow"], "not HEADING=NAME"),
        (["--column", "Cow=colour"], "not HEADING=NAME"),
        (["--column", "Cow=tag", "--column", "Notes=tag"], "same name"),
        (["--column", "Cow="], "No column was recognised as the tag"),
    ],
)
def test_a_wrong_column_option_is_told(
    cows: Path, capsys: pytest.CaptureFixture[str], options: list[str], words: str
) -> None:
    assert run(["import", "herd", str(cows), "--yes", *options]) == 2
    assert words in told(capsys)


def test_a_plan_as_json_has_rules_and_sources(
    cows: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["import", "herd", str(cows), "--yes"]) == 0
    phrases = tmp_path / "october.txt"
    phrases.write_text("cow 12\nopen\nrecheck in four weeks\n", encoding="utf-8")
    visit = str(tmp_path / "october")
    assert run(["replay", str(phrases), "--out", visit, "--date", "2026-10-21"]) == 0
    capsys.readouterr()
    assert run(["plan", visit, "--herd", str(cows), "--date", "2026-11-18", "--json"]) == 0
    planned = json.loads(capsys.readouterr().out)
    assert [each["tag"] for each in planned] == ["12", "837", "412"]
    assert planned[0]["reasons"][0]["rule"] == "recheck_due"
    assert all(reason["source"] for each in planned for reason in each["reasons"])
