"""Over visits: one animal, words looked for, and what was changed, as tables, page and CSV."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from dictation.cli.app import run
from dictation.decide.people.orders import About, order
from dictation.decide.record import Record
from dictation.records.animal_history import exams_of, over_visits, plots, search
from dictation.records.changes_file import change_rows
from dictation.visit.inputs import By
from tests.decide.spoken import visit_of
from tests.review.written import visit_in

FIRST = ("cow eight three seven", "right ovary CL twenty-two", "next cow four one two", "note lame")
THEN = ("cow eight three seven", "right ovary CL twenty-six", "twins")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    visit_in(tmp_path / "one" / "visit", *FIRST)
    visit_in(tmp_path / "two" / "visit", *THEN)
    return tmp_path


def test_an_animal_is_shown_over_its_visits_with_what_came_and_went() -> None:
    seen = exams_of((visit_of(*FIRST), visit_of(*THEN)), "837")
    visits, numbers = over_visits(seen)
    assert [row[5:7] for row in visits.rows] == [
        ("right ovary corpus luteum 22 mm", ""),
        ("right ovary corpus luteum 26 mm, twins", "right ovary corpus luteum 22 mm"),
    ]
    assert numbers.rows[0][0] == "right ovary corpus luteum, mm"
    (picture,) = plots(seen)
    assert picture.svg.count("<line") >= 1
    assert ">22<" in picture.svg
    assert ">26<" in picture.svg


def test_words_are_found_in_findings_and_in_what_was_heard() -> None:
    table = search((visit_of(*FIRST), visit_of(*THEN)), "412 LAME", None)
    assert [row[2:] for row in table.rows] == [("412", "note: lame"), ("412", "'note lame'")]
    assert search((visit_of(*FIRST),), "lame", "837").rows == ()


def test_the_command_writes_a_page_and_says_where_there_is_nothing(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    page = folder / "837.html"
    assert run(["animal", "837", "--visits", str(folder), "--page", str(page)]) == 0
    assert "right ovary" in capsys.readouterr().out
    assert "<svg" in page.read_text(encoding="utf-8")
    assert run(["animal", "--find", "lame", "--visits", str(folder)]) == 0
    assert "412" in capsys.readouterr().out
    assert run(["animal", "999", "--visits", str(folder)]) == 3
    assert run(["animal", "837", "--visits", str(folder / "none")]) == 3
    assert run(["animal", "--visits", str(folder)]) == 2


def test_what_was_changed_is_a_row_with_was_is_who_and_why(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    visit = folder / "one" / "visit"
    with Record.amend(visit) as record:
        wanted = order(record.visit, "value", About(finding=2), "24")
        record.put_right(wanted.deed, By("anna", "heard <b>wrongly</b>"))
        ((entry, _, who, exam, tag, was, now, *_),) = change_rows(record.visit)
    assert (who, exam, tag) == ("anna", 1, "837")
    assert (was, now) == ("right ovary corpus luteum 22 mm", "right ovary corpus luteum 24 mm")
    assert run(["export", str(visit), "--to", "changes"]) == 0
    assert "The visit: draft, " in capsys.readouterr().err
    (row,) = csv.DictReader((visit / "changes.csv").read_text(encoding="utf-8").splitlines())
    assert (row["entry"], row["why"]) == (str(entry), "heard <b>wrongly</b>")
    assert "<b>" not in (visit / "changes.html").read_text(encoding="utf-8")


@pytest.mark.parametrize(("form", "name"), [("list", "list.html"), ("calendar", "calendar.ics")])
def test_every_list_says_how_far_the_visit_is(folder: Path, form: str, name: str) -> None:
    visit = folder / "three" / "visit"
    visit_in(visit, "cow eight three seven", "pregnant sixty days")
    assert run(["export", str(visit), "--to", form]) == 0
    assert "draft" in (visit / name).read_text(encoding="utf-8")
