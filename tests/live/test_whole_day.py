"""A whole day: import, plan, listen, correct, approve, all exports, summary, and the next plan."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest

from dictation.cli.app import run
from dictation.decide.record import Record
from dictation.intake.reading import read_visit
from dictation.records.visit_files import write_visit_files
from dictation.visit.inputs import By, Choice, ExamApproved, FindingChanged, QueryAnswered
from grammar.findings import Ovary
from tests.bench.virtual_microphone import VirtualMicrophone, missing_commands
from tests.live.phrases import play_list
from tests.live.program import Listening

pytestmark = pytest.mark.skipif(
    bool(missing_commands()), reason=f"no sound server: {', '.join(missing_commands())}"
)

TODAY = date.today()
BEFORE = TODAY - timedelta(days=15)
NEXT = TODAY + timedelta(days=14)
ANNA = By("anna")
FIRST, SECOND, THIRD = "DE 01 234 50837", "DE 01 234 50412", "DE 01 234 50073"
SPOKEN = (
    "cow eight thirty seven",
    "right horn, pregnant about forty five days",
    "right ovary CL twenty four",
    "next cow",
    "cow four one two",
    "open",
    "prostaglandin",
)


def listed(tag: str, calved_days: int, served_days: int | None) -> str:
    def told(days: int | None) -> str:
        return "" if days is None else f"{TODAY - timedelta(days=days):%d.%m.%Y}"

    return f"{tag};Holstein;{told(calved_days)};{told(served_days)};Laufstall\n"


@pytest.fixture(scope="module")
def microphone() -> Iterator[VirtualMicrophone]:
    with VirtualMicrophone() as plugged_in:
        yield plugged_in


def test_a_whole_day_at_a_farm(
    microphone: VirtualMicrophone,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    visits, cows = tmp_path / "visits", tmp_path / "cows.csv"
    rows = listed(FIRST, 130, 45) + listed(SECOND, 120, 60) + listed(THIRD, 110, None)
    cows.write_text(f"Ohrmarke;Rasse;Kalbung;Besamung;Gruppe\n{rows}Summe;3;;;\n", "utf-8")
    assert run(["import", "herd", str(cows), "--yes"]) == 0
    options = ["--called", "Larkmoor", "--herd", str(cows), "--visits", str(visits)]
    assert run(["farm", "larkmoor", *options]) == 0
    last = tmp_path / "last.txt"
    last.write_text("cow 412\nopen\nrecheck in two weeks\nnext cow 073\nopen\nbreed\n", "utf-8")
    assert run(["replay", str(last), "--farm", "larkmoor", "--date", BEFORE.isoformat()]) == 0

    before = planned(capsys, TODAY)
    assert "recheck_due" in before[SECOND]
    assert "breed_not_done" in before[THIRD]
    assert run(["plan", "--farm", "larkmoor", "--out", str(tmp_path / "plan")]) in (0, 4)
    assert "0073" in (tmp_path / "plan" / "plan.html").read_text("utf-8")

    folder = visits / f"visit-{TODAY.isoformat()}"
    environment = microphone.environment | {"XDG_CONFIG_HOME": str(tmp_path / "config")}
    with Listening(folder, environment, "--farm", "larkmoor") as listening:
        microphone.play(play_list(tmp_path / "said.wav", *SPOKEN))
        listening.wait_for_heard("prostaglandin")

    correct_and_approve(folder)
    visit = read_visit(folder)[0]
    assert (visit.farm, [exam.tag for exam in visit.exams]) == ("Larkmoor", [FIRST, SECOND])
    assert visit.visit_approved

    export(folder, tmp_path / "out")
    text = (tmp_path / "out" / "list.html").read_text("utf-8")
    assert "approved by anna" in text
    assert "Laufstall" in text
    assert "not presented today" in text
    assert "Prostaglandin" in (tmp_path / "out" / "message.txt").read_text("utf-8")
    assert "right ovary" not in (tmp_path / "out" / "message.txt").read_text("utf-8")
    assert "corpus luteum 26 mm" in (tmp_path / "out" / "exams.csv").read_text("utf-8")
    capsys.readouterr()
    assert run(["summary", str(visits), "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["visits"] == 2

    following = planned(capsys, NEXT)
    assert {"not_presented", "breed_not_done"} & following[THIRD]
    assert "second_look" in following[FIRST]


def planned(capsys: pytest.CaptureFixture[str], on: date) -> dict[str, set[str]]:
    """Who should be examined on a day: the rules by tag."""
    capsys.readouterr()
    assert run(["plan", "--farm", "larkmoor", "--date", on.isoformat(), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    return {each["tag"]: {reason["rule"] for reason in each["reasons"]} for each in told}


def correct_and_approve(folder: Path) -> None:
    """Answer what is asked, put a size right, and stand for the visit, as a person does."""

    def written(visit: object, flags: object) -> None:
        write_visit_files(folder, visit, flags)  # type: ignore[arg-type]

    with Record.amend(folder, written) as book:
        for query in book.visit.open_queries:
            choice = (Choice.TAKE, 1) if query.alternatives else (Choice.SETTLED, None)
            book.put_right(QueryAnswered(query.id, *choice), ANNA)
        found = [r for exam in book.visit.exams for r in exam.standing]
        (ovary,) = (r for r in found if isinstance(r.finding, Ovary))
        assert isinstance(ovary.finding, Ovary)
        now = replace(ovary.finding, size_mm=26.0)
        book.put_right(FindingChanged(ovary.number, ovary.finding, now), ANNA)
        book.put_right(ExamApproved(None), ANNA)


def export(folder: Path, out: Path) -> None:
    """Every format."""
    for form in ("csv", "icar", "list", "calendar", "text"):
        options = ["--to", form, "--out", str(out), "--farm", "larkmoor", "--herd-id", "123450"]
        assert run(["export", str(folder), *options]) in (0, 4), form
