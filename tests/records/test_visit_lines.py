"""The lines that a visit keeps for a summary: the same as its journal says, or not used."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

import dictation
from dictation.cli.app import run
from dictation.records.practice.gathering import Gathered, gather, visit_folders
from dictation.records.practice.visit_lines import (
    COLUMNS,
    LINES_NAME,
    keep_lines,
    kept_lines,
    reckoning,
    sources,
    visit_lines,
)
from dictation.records.visit_files import write_visit_files
from dictation.visit.apply import fold
from dictation.visit.journal import Journal
from dictation.visit.journal_state import journal_state
from dictation.visit.state import Visit
from grammar.checks import check_visit
from tests.decide.spoken import Phrase
from tests.records.visits import FARM, SPOKEN, write_visit

TAG = COLUMNS.index("tag")
ROOT = Path(dictation.__file__).parent.parent


def written(folder: Path, *phrases: Phrase, farm: str | None = FARM) -> Visit:
    """A visit with its files, as a session leaves it."""
    visit = write_visit(folder, *phrases, farm=farm)
    write_visit_files(folder, visit, check_visit(visit.exams))
    return visit


def gathered(root: Path, afresh: bool = False) -> Gathered:
    return gather(visit_folders((root,)), afresh=afresh)


def exams(found: Gathered) -> int:
    return sum(visit.lines.exams for visit in found.visits)


def test_what_the_visits_keep_is_what_folding_them_says(tmp_path: Path) -> None:
    written(tmp_path / "larks" / "a", *SPOKEN)
    written(tmp_path / "larks" / "b", "cow five", "open", farm=None)
    written(tmp_path / "larks" / "c", farm="Nobody's")
    kept, folded = gathered(tmp_path), gathered(tmp_path, afresh=True)
    assert (len(kept.visits), kept.kept, kept.folded) == (3, 3, 0)
    assert (folded.kept, folded.folded) == (0, 3)
    assert kept.visits == folded.visits
    assert exams(kept) == 9
    assert [visit.farm for visit in kept.visits] == [FARM, "larks", "Nobody's"]


def test_a_later_event_is_noticed(tmp_path: Path) -> None:
    written(tmp_path / "a", "cow five", "open")
    write_visit(tmp_path / "a", "next cow nine")
    found = gathered(tmp_path)
    assert (found.kept, found.folded, exams(found)) == (0, 1, 2)


def test_lines_written_while_somebody_adds_an_event_stand_for_what_was_before(
    tmp_path: Path,
) -> None:
    visit = written(tmp_path / "a", "cow five", "open")
    write_visit(tmp_path / "a", "next cow nine")
    keep_lines(tmp_path / "a", visit)
    assert kept_lines(tmp_path / "a", journal_state(tmp_path / "a")) is None
    with Journal.read(tmp_path / "a") as journal:
        keep_lines(tmp_path / "a", journal.visit())
    assert (gathered(tmp_path).folded, exams(gathered(tmp_path))) == (0, 2)


def test_another_reckoning_is_noticed(tmp_path: Path) -> None:
    written(tmp_path / "a", "cow five", "open")
    path = tmp_path / "a" / LINES_NAME
    assert gathered(tmp_path).kept == 1
    path.write_bytes(path.read_bytes().replace(reckoning().encode(), b"0" * 32))
    found = gathered(tmp_path)
    assert (found.kept, found.folded) == (0, 1)


def test_every_module_that_makes_a_line_is_part_of_the_reckoning() -> None:
    program = (
        "import sys; before = set(sys.modules);"
        "import dictation.records.practice.visit_lines, dictation.visit.apply;"
        "print('\\n'.join(m.__file__ for n, m in sys.modules.items()"
        " if n.split('.')[0] in ('dictation', 'grammar') and m.__file__))"
    )
    told = subprocess.run(
        [sys.executable, "-c", program], check=True, capture_output=True, text=True, cwd=ROOT
    )
    used = {Path(line).resolve() for line in told.stdout.splitlines()}
    assert len(used) > 50
    # Packages without a line of code cannot change a reckoning.
    used = {path for path in used if path.name != "__init__.py"}
    assert used <= {path.resolve() for path in sources()}
    assert {"exam.lark", "vocabulary.toml"} <= {path.name for path in sources()}


def test_lines_of_another_visit_are_not_taken(tmp_path: Path) -> None:
    written(tmp_path / "a", "cow five", "open")
    written(tmp_path / "b", "cow six", "pregnant")
    (tmp_path / "b" / LINES_NAME).write_bytes((tmp_path / "a" / LINES_NAME).read_bytes())
    found = gathered(tmp_path)
    assert (found.kept, found.folded) == (1, 1)
    assert [json.loads(visit.lines.body)[TAG] for visit in found.visits] == ["5", "6"]


@pytest.fixture(scope="module")
def visit_kept(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("kept") / "visit"
    written(folder, *SPOKEN)
    return folder


@settings(max_examples=150, deadline=None, suppress_health_check=list(HealthCheck))
@given(st.data())
def test_a_file_with_any_byte_changed_is_not_used(visit_kept: Path, data: st.DataObject) -> None:
    state = journal_state(visit_kept)
    path = visit_kept / LINES_NAME
    whole = path.read_bytes()
    assert kept_lines(visit_kept, state) is not None
    place = data.draw(st.integers(0, len(whole) - 1))
    how = data.draw(st.sampled_from(("changed", "cut", "lengthened")))
    byte = data.draw(st.integers(0, 255))
    try:
        if how == "changed":
            path.write_bytes(
                whole[:place] + bytes((whole[place] ^ (byte or 1),)) + whole[place + 1 :]
            )
        elif how == "cut":
            path.write_bytes(whole[:place])
        else:
            path.write_bytes(whole + bytes((byte,)))
        assert kept_lines(visit_kept, state) is None
    finally:
        path.write_bytes(whole)


@pytest.mark.parametrize("content", [b"", b"\n", b"[]\n", b"null\n{}", b"\xff\xfe\n"])
def test_a_file_that_is_none_of_ours_is_passed_over(tmp_path: Path, content: bytes) -> None:
    written(tmp_path / "a", "cow five", "open")
    (tmp_path / "a" / LINES_NAME).write_bytes(content)
    found = gathered(tmp_path)
    assert (found.kept, found.folded) == (0, 1)


def test_where_the_lines_cannot_be_written_the_visit_is_folded(tmp_path: Path) -> None:
    visit = written(tmp_path / "a", "cow five", "open")
    (tmp_path / "a" / LINES_NAME).unlink()
    (tmp_path / "a" / LINES_NAME).mkdir()
    keep_lines(tmp_path / "a", visit)
    assert (gathered(tmp_path).kept, gathered(tmp_path).folded) == (0, 1)


def test_a_line_holds_plain_values_whose_names_stand_at_the_head(visit_kept: Path) -> None:
    head, first, *_ = (visit_kept / LINES_NAME).read_text(encoding="utf-8").splitlines()
    told = json.loads(head)
    assert told["exams"] == 8
    line = dict(zip(told["columns"], json.loads(first), strict=True))
    assert (line["exam"], line["tag"], line["status"]) == (1, "837", "pregnant")
    assert (line["on_date"], line["service_on"], line["sire"]) == (
        "2026-11-18",
        "2026-10-04",
        "Rowan",
    )


def test_every_command_that_writes_a_visit_keeps_its_lines(tmp_path: Path) -> None:
    text = tmp_path / "said.txt"
    text.write_text("cow 837\npregnant forty-three days\ncow 412\nopen\n", encoding="utf-8")
    visit, copy = tmp_path / "visit", tmp_path / "copy"

    def up_to_date(folder: Path) -> bool:
        kept = kept_lines(folder, journal_state(folder))
        with Journal.read(folder) as journal:
            return kept == visit_lines(fold(journal.acts()))

    assert run(["replay", str(text), "--out", str(visit), "--date", "2026-11-18"]) == 0
    assert up_to_date(visit)
    assert run(["import", "visit", str(visit), "--date", "2026-11-18", "--out", str(copy)]) == 0
    assert up_to_date(copy)
    (visit / LINES_NAME).unlink()
    assert run(["export", str(visit), "--to", "csv", "--out", str(tmp_path / "away")]) == 0
    assert not (visit / LINES_NAME).exists()
    assert not (tmp_path / "away" / LINES_NAME).exists()
    assert run(["export", str(visit), "--to", "csv"]) == 0
    assert up_to_date(visit)
