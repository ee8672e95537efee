"""``hornsweep summary`` over a folder of visits."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from dictation.cli.app import run


@pytest.fixture
def visits(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    herd = tmp_path / "herd.csv"
    herd.write_text(
        "tag,calved_on,service_1,sire,inseminator\n"
        "837,2026-07-01,2026-09-01,[b]Rowan,Ash\n"
        "412,2026-07-01,2026-09-01,Alder,Ash\n",
        encoding="utf-8",
    )
    for day, said in (
        ("2026-10-14", "cow 837\npregnant forty-three days\ncow 412\nopen\n"),
        ("2026-11-18", "cow 837\nopen\n"),
    ):
        text = tmp_path / f"{day}.txt"
        text.write_text(said, encoding="utf-8")
        folder = str(tmp_path / "visits" / day)
        arguments = ["replay", str(text), "--out", folder, "--date", day, "--herd", str(herd)]
        assert run(arguments) == 0
    return tmp_path / "visits"


def test_the_tables_say_shares_with_their_intervals(
    visits: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    capsys.readouterr()
    assert run(["summary", str(visits)]) == 0
    words = " ".join(capsys.readouterr().out.split())
    assert "2 visits, 3 exams, 2 animals" in words
    assert "all 1 / 2 50% 9% to 91%" in words
    assert "[b]Rowan 1 / 1" in words
    assert "Ash 1 / 2" in words
    assert "43 to 60 days 1 / 1" in words


def test_the_same_as_json(visits: Path, capsys: pytest.CaptureFixture[str]) -> None:
    capsys.readouterr()
    assert run(["summary", str(visits), "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert (found["visits"], found["exams"], found["animals"]) == (2, 3, 2)
    assert found["by_sire"][0]["group"] in {"[b]Rowan", "Alder"}
    assert found["losses"][0] == found["losses"][0] | {"group": "all", "hits": 1, "total": 1}
    assert found["stated_less_measured"] is None


def test_a_folder_without_a_visit_is_told(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["summary", str(tmp_path)]) == 3
    assert "no visit lies in there" in capsys.readouterr().err
    assert run(["summary", str(tmp_path / "none")]) == 3
