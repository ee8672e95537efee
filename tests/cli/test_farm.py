"""A farm that is registered: nothing is typed twice, and the next visit knows the last one."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path

import pytest

from dictation.cli.app import run
from dictation.intake.reading import read_visit
from dictation.records.farms import farms_file

OCTOBER = (
    "cow 837\npregnant forty-five days\nnext cow 412\nopen\nbreed\nnext cow 73\nopen\n"
    "recheck in two weeks\nnext cow 9\nopen\nrecheck in two weeks\n"
)
NOVEMBER = "cow 837\nopen\nnext cow 9\npregnant\n"


@pytest.fixture(autouse=True)
def settings(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))


@pytest.fixture
def farm(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Path:
    """The folder of the visits of a registered farm with one visit, of October."""
    herd = tmp_path / "herd.csv"
    herd.write_text("tag,pen\n73,B\n837,A\n412,A\n9,B\n", encoding="utf-8")
    visits = tmp_path / "visits"
    options = ["--called", "Larkmoor Crossing", "--herd", str(herd), "--visits", str(visits)]
    assert run(["farm", "larkmoor", *options]) == 0
    said(tmp_path, OCTOBER, "2026-10-21")
    capsys.readouterr()
    return visits


def said(folder: Path, words: str, on: str) -> None:
    phrases = folder / "said.txt"
    phrases.write_text(words, encoding="utf-8")
    assert run(["replay", str(phrases), "--farm", "larkmoor", "--date", on]) == 0


def test_a_visit_of_the_farm_goes_into_its_folder_with_its_list_and_name(farm: Path) -> None:
    visit = read_visit(farm / "visit-2026-10-21")[0]
    assert visit.farm == "Larkmoor Crossing"
    assert len(visit.herd) == 4


def test_farms_are_listed_shown_and_changed(farm: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["farm"]) == 0
    assert run(["farm", "larkmoor"]) == 0
    first, second = capsys.readouterr().out.splitlines()
    assert first == second
    assert "Larkmoor Crossing" in first
    assert "1 visits" in first
    assert run(["farm", "larkmoor", "--called", 'Lark "moor"']) == 0
    kept = tomllib.loads(farms_file().read_text(encoding="utf-8"))["larkmoor"]
    assert kept["called"] == 'Lark "moor"'
    assert kept["visits"] == str(farm)


def test_a_farm_that_is_none_and_a_damaged_register_are_told(
    farm: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["plan", "--farm", "larkmore"]) == 2
    assert "there are larkmoor" in capsys.readouterr().err
    assert run(["farm", "new", "--called", "New"]) == 2
    farms_file().write_text("[x]\nherd = 3\n", encoding="utf-8")
    assert run(["plan", "--farm", "x"]) == 3
    assert "farms.toml" in capsys.readouterr().err


def test_the_plan_has_what_was_not_done_and_is_a_page_in_the_order_of_the_list(
    farm: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["plan", "--farm", "larkmoor", "--date", "2026-11-18", "--json"]) == 0
    rules = {
        e["tag"]: [r["rule"] for r in e["reasons"]] for e in json.loads(capsys.readouterr().out)
    }
    assert rules == {"412": ["breed_not_done"], "73": ["recheck_due"], "9": ["recheck_due"]}
    out = tmp_path / "page"
    options = ["--farm", "larkmoor", "--date", "2026-11-18", "--out", str(out)]
    assert run(["plan", *options]) in (0, 4)
    text = " ".join((out / "plan.html").read_text(encoding="utf-8").split())
    assert text.index(">73<") < text.index(">412<") < text.index(">9<")
    assert "21 Oct 2026" in text
    assert "planned: breed" in text
    assert "Larkmoor Crossing: Plan for" in text


def test_who_was_lost_and_who_was_not_presented_stands_on_the_list(
    farm: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    said(tmp_path, NOVEMBER, "2026-11-18")
    visit, out = str(farm / "visit-2026-11-18"), tmp_path / "list"
    options = ["--to", "list", "--farm", "larkmoor", "--out", str(out)]
    assert run(["export", visit, *options]) in (0, 4)
    text = " ".join((out / "list.html").read_text(encoding="utf-8").split())
    lost = text[text.index("Lost since the last visit") : text.index("Planned, and not presented")]
    assert "837" in lost
    assert "in calf 45 days" in lost
    missing = text[text.index("Planned, and not presented") : text.index("All animals")]
    assert ">73<" in missing
    assert ">412<" in missing
    assert ">9<" not in missing
    capsys.readouterr()
    assert run(["plan", "--farm", "larkmoor", "--date", "2026-12-02", "--json"]) == 0
    planned = {each["tag"]: each["reasons"] for each in json.loads(capsys.readouterr().out)}
    assert "not_presented" in [reason["rule"] for reason in planned["73"]]


def test_ready_says_of_what_is_missing_what_to_type(
    farm: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    import sys

    monkeypatch.setenv("PATH", "")
    monkeypatch.setitem(sys.modules, "weasyprint", None)
    for system, typed in (("linux", "apt-get install espeak-ng"), ("darwin", "brew install"),
                          ("win32", "winget install")):  # fmt: skip
        monkeypatch.setattr(sys, "platform", system)
        from dictation.cli import ready

        voice = ready._voice()
        assert not voice.there
        assert typed in voice.advice
        assert "pip install 'hornsweep[pdf]'" in ready._pdf().advice
    assert "4 animals" in ready._herd(farm.parent / "herd.csv").told
