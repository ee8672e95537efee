"""``hornsweep check``: the rules and their sources, and a visit beside the herd's earlier ones."""

from __future__ import annotations

from pathlib import Path

import pytest

from dictation.cli.app import run
from grammar.checks import RULES


def visit(folder: Path, day: str, *phrases: str) -> Path:
    text = folder.parent / f"{folder.name}.txt"
    text.write_text("\n".join(phrases) + "\n", encoding="utf-8")
    assert run(["replay", str(text), "--out", str(folder), "--date", day]) == 0
    return folder


def test_every_rule_is_listed_with_its_source(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["check", "--list"]) == 0
    listed = " ".join(capsys.readouterr().out.split())
    assert all(rule.identifier in listed for rule in RULES)
    assert listed.count("source: ") == len(RULES)


def test_a_rule_is_explained_and_an_unknown_one_names_the_nearest(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert run(["check", "--explain", "age_stated_and_measured_differ"]) == 0
    assert "Source: " in capsys.readouterr().out
    assert run(["check", "--explain", "age_stated_and_measured_difer"]) == 2
    assert "Did you mean 'age_stated_and_measured_differ'?" in capsys.readouterr().err


def test_check_without_a_visit_says_what_it_needs(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["check"]) == 2
    assert "Name the folder of a visit" in capsys.readouterr().err


def test_a_pregnancy_that_is_open_now_is_asked_about_beside_the_earlier_visit(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    visits = tmp_path / "visits"
    visits.mkdir()
    visit(visits / "october", "2026-10-14", "cow 837", "pregnant forty days", "next")
    visit(visits / "november", "2026-11-18", "cow 837", "open", "next")
    capsys.readouterr()
    assert run(["check", str(visits / "november"), "--strict"]) == 0
    alone = capsys.readouterr().out
    args = ["check", str(visits / "november"), "--earlier", str(visits), "--strict"]
    assert run(args) == 1
    beside = capsys.readouterr().out
    assert "pregnant_then_open_now" in beside or "loss" in beside
    assert beside != alone


def test_a_recheck_that_was_asked_for_and_not_done_is_listed(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    visits = tmp_path / "visits"
    visits.mkdir()
    visit(visits / "september", "2026-09-16", "cow 12", "open", "recheck in two weeks", "next")
    visit(visits / "november", "2026-11-18", "cow 837", "open", "next")
    capsys.readouterr()
    assert run(["check", str(visits / "november"), "--earlier", str(visits)]) == 0
    shown = capsys.readouterr().out
    assert "Rechecks asked for and not done" in shown
    assert "tag 12" in shown
    assert "due 2026-09-30" in shown


def test_what_must_be_settled_comes_first_and_notes_are_counted(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    phrases = (
        "cow 12",
        "open",
        "next cow 837",
        "pregnant forty five days",
        "prostaglandin",
        "next",
    )
    folder = visit(tmp_path / "visit", "2026-11-18", *phrases)
    capsys.readouterr()
    assert run(["check", str(folder)]) == 0
    shown = " ".join(capsys.readouterr().out.split())
    assert shown.index("STOP") < shown.index("1 note 12")
    assert "Nothing was said of" not in shown
    assert "source:" not in shown
    assert shown.count("women of child-bearing age") == 2  # with the stop, and once for the visit
    assert run(["check", str(folder), "--notes"]) == 0
    assert "Nothing was said of" in capsys.readouterr().out


@pytest.mark.parametrize("among", ["visits", "visits/october", "visits/november"])
def test_earlier_visits_are_found_in_their_folder_in_one_of_them_or_beside_the_visit(
    among: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    visits = tmp_path / "visits"
    visits.mkdir()
    visit(visits / "october", "2026-10-14", "cow 837", "pregnant forty days", "next")
    visit(visits / "november", "2026-11-18", "cow 837", "open", "next")
    capsys.readouterr()
    assert run(["check", str(visits / "november"), "--earlier", str(tmp_path / among)]) == 0
    told = capsys.readouterr()
    assert "1 earlier visit found" in told.err
    assert "pregnant_then_open_now" in told.out


def test_where_no_earlier_visit_is_found_it_is_said(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = visit(tmp_path / "visit", "2026-11-18", "cow 837", "open", "next")
    capsys.readouterr()
    (tmp_path / "empty").mkdir()
    assert run(["check", str(folder), "--earlier", str(tmp_path / "empty")]) == 0
    assert "0 earlier visits found" in capsys.readouterr().err


def test_a_damaged_visit_is_named_and_passed_over(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    visits = tmp_path / "visits"
    (visits / "august").mkdir(parents=True)
    (visits / "august" / "visit.sqlite").write_bytes(b"no journal at all" * 100)
    visit(visits / "october", "2026-10-14", "cow 837", "pregnant forty days", "next")
    visit(visits / "november", "2026-11-18", "cow 837", "open", "next")
    capsys.readouterr()
    assert run(["check", str(visits / "november"), "--earlier", str(visits)]) == 0
    told = capsys.readouterr()
    assert "Passed over:" in told.err
    assert "august" in told.err
    assert "1 earlier visit found" in told.err
    assert "pregnant_then_open_now" in told.out
