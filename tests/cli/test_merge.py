"""``hornsweep merge``: two laptops at one farm, one visit."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from dictation.cli.app import run
from dictation.intake.reading import read_visit
from dictation.visit.state import Visit

NORTH = "cow 837\npregnant forty-five days\nnext cow 412\nopen\nprostaglandin\n"
SOUTH = "cow 73\nopen\nnext cow 837\nopen\nleft ovary CL twenty\n"


def half(folder: Path, name: str, words: str, *options: str, on: str = "2026-11-18T09:00") -> Path:
    phrases = folder / f"{name}.txt"
    phrases.write_text(words, encoding="utf-8")
    assert run(["replay", str(phrases), "--out", str(folder / name), "--date", on, *options]) == 0
    return folder / name


@pytest.fixture
def whole(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Visit:
    north, south = half(tmp_path, "anna", NORTH), half(tmp_path, "ben", SOUTH)
    capsys.readouterr()
    assert run(["merge", str(north), str(south), "--out", str(tmp_path / "whole")]) == 0
    return read_visit(tmp_path / "whole")[0]


def test_all_exams_of_both_are_there_and_each_says_whose_it_is(whole: Visit) -> None:
    assert sorted(exam.tag or "" for exam in whole.exams) == ["412", "73", "837", "837"]
    whose = {act.who for act in whole.acts.values() if act.kind == "exam_taken"}
    assert whose == {"anna", "ben"}
    taken = {a.facts[0].number: a.who for a in whole.acts.values() if a.kind == "exam_taken"}  # type: ignore[attr-defined]
    assert {e.tag: taken[e.number] for e in whole.exams if e.tag != "837"} == {
        "412": "anna",
        "73": "ben",
    }


def test_an_animal_in_both_is_asked_about_with_what_they_say_differently(
    whole: Visit, capsys: pytest.CaptureFixture[str]
) -> None:
    assert "In both halves, and asked about: 837." in capsys.readouterr().err
    (query,) = whole.open_queries
    assert "anna: pregnant 45 days" in query.question
    assert "ben: open; left ovary corpus luteum 20 mm" in query.question


def test_the_exams_can_be_joined_and_the_contradiction_is_then_a_flag(
    whole: Visit, tmp_path: Path
) -> None:
    from dictation.decide.record import Record
    from dictation.visit.inputs import By, Choice, QueryAnswered

    with Record.amend(tmp_path / "whole") as book:
        (query,) = book.visit.open_queries
        book.put_right(QueryAnswered(query.id, Choice.TAKE, 1), By("cara"))
        assert [exam.tag for exam in book.visit.exams].count("837") == 1
        (joined,) = (exam for exam in book.visit.exams if exam.tag == "837")
        assert any("open" in f.why for f in book.flags[joined.number])


def test_lists_and_exports_are_of_the_whole(whole: Visit, tmp_path: Path) -> None:
    with (tmp_path / "whole" / "exams.csv").open(encoding="utf-8", newline="") as file:
        assert len(list(csv.DictReader(file))) == len(whole.exams)
    assert run(["export", str(tmp_path / "whole"), "--to", "list", "--out", str(tmp_path)]) in (
        0,
        4,
    )
    assert "837" in (tmp_path / "list.html").read_text(encoding="utf-8")


def test_an_open_question_of_a_half_can_still_be_answered(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    north = half(tmp_path, "anna", "cow 5\nleft ovary CL ninety\nopen\n")
    south = half(tmp_path, "ben", "cow 6\nopen\n")
    asked = read_visit(north)[0].open_queries
    assert run(["merge", str(north), str(south), "--out", str(tmp_path / "whole")]) == 0
    assert [q.question for q in read_visit(tmp_path / "whole")[0].open_queries] == [
        q.question for q in asked
    ]


def test_halves_of_different_days_and_one_half_alone_are_refused(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    north = half(tmp_path, "anna", NORTH)
    later = half(tmp_path, "ben", SOUTH, on="2026-11-19")
    out = str(tmp_path / "whole")
    assert run(["merge", str(north), str(later), "--out", out]) == 2
    assert "not of one day" in capsys.readouterr().err
    assert run(["merge", str(north), str(north), "--out", out]) == 2
    assert not (tmp_path / "whole").exists()


def test_herd_lists_are_put_together_and_a_difference_is_told(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for name, rows in (("a", "837,3\n412,1\n"), ("b", "837,2\n73,1\n")):
        (tmp_path / f"{name}.csv").write_text(f"tag,parity\n{rows}", encoding="utf-8")
    north = half(tmp_path, "anna", NORTH, "--herd", str(tmp_path / "a.csv"))
    south = half(tmp_path, "ben", SOUTH, "--herd", str(tmp_path / "b.csv"))
    assert run(["merge", str(north), str(south), "--out", str(tmp_path / "whole")]) == 0
    assert "differ on 837" in capsys.readouterr().err
    visit = read_visit(tmp_path / "whole")[0]
    assert {e.tag: e.known.parity for e in visit.exams if e.known} == {"837": 3, "412": 1, "73": 1}


def test_she_is_one_animal_by_whatever_end_of_her_number_each_half_knew_her(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "a.csv").write_text("tag\nDE 01 234 56837\nDE 01 234 56412\n", encoding="utf-8")
    north = half(tmp_path, "anna", NORTH, "--herd", str(tmp_path / "a.csv"))
    south = half(tmp_path, "ben", SOUTH)
    assert run(["merge", str(north), str(south), "--out", str(tmp_path / "whole")]) == 0
    assert "asked about: DE 01 234 56837" in capsys.readouterr().err
