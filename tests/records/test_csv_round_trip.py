"""Exams written as CSV and read again are the same exams; also after a spreadsheet had them."""

from __future__ import annotations

import csv
import io
import random
import shutil
import subprocess
import tempfile
from dataclasses import replace
from datetime import date
from enum import StrEnum
from pathlib import Path
from typing import cast

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dictation.errors import BadInputError
from dictation.records.cells import plain_text, table, text_cell
from dictation.records.csv_reading import read_csv_visit
from dictation.records.findings_rows import FINDINGS_HEADER, finding_rows, read_finding
from dictation.records.questions_file import QUESTIONS_NAME
from dictation.records.visit_files import EXAMS_NAME, FINDINGS_NAME, write_csv, write_records
from dictation.visit.inputs import VisitClosed
from dictation.visit.state import Visit
from grammar.exam import Exam, FindingState, RecordedFinding
from grammar.fields import FIELDS, Field, usual
from grammar.findings import Animal, Finding, Note
from grammar.sample import sample_phrase
from tests.decide.spoken import ON, Chatter
from tests.grammar.strategies import findings
from tests.records.visits import HERD, farm_visit, flags_of, heard


def written(folder: Path, visit: Visit) -> tuple[bytes, bytes]:
    write_csv(folder, visit.exams, flags_of(visit))
    return (folder / EXAMS_NAME).read_bytes(), (folder / FINDINGS_NAME).read_bytes()


def again(folder: Path) -> tuple[bytes, bytes]:
    """Read, and written once more."""
    read = read_csv_visit(folder, ON, HERD)
    return written(folder, replace(heard(), exams=read.exams))


def plainly(finding: Finding) -> Finding:
    """How a tag was said is no part of the record."""
    return replace(finding, tag_alone=False) if isinstance(finding, Animal) else finding


def test_a_visit_comes_back_as_it_was(tmp_path: Path) -> None:
    visit = farm_visit("scratch that")
    before = written(tmp_path, visit)
    read = read_csv_visit(tmp_path, ON, HERD)
    assert [e.tag for e in read.exams] == [e.tag for e in visit.exams]
    for was, now in zip(visit.exams, read.exams, strict=True):
        assert [plainly(r.finding) for r in was.recorded] == [r.finding for r in now.recorded]
        assert [r.state for r in was.recorded] == [r.state for r in now.recorded]
        assert [r.heard for r in was.recorded] == [r.heard for r in now.recorded]
        assert (was.known, was.started_at) == (now.known, now.started_at)
    assert again(tmp_path) == before


@given(st.integers(0, 10**9))
@settings(max_examples=8, deadline=None)
def test_whatever_is_said_comes_back(seed: int) -> None:
    draw = random.Random(seed)
    visit = heard("cow eight three seven", *(sample_phrase(draw) for _ in range(6)), VisitClosed())
    with tempfile.TemporaryDirectory() as name:
        before = written(Path(name), visit)
        assert again(Path(name)) == before


@given(findings)
@settings(max_examples=300, deadline=None)
def test_every_finding_that_can_be_said_comes_back_from_its_row(finding: Finding) -> None:
    assert from_its_row(finding) == plainly(finding)


@st.composite
def with_any_values(draw: st.DrawFn) -> Finding:
    """A finding whose fields hold whatever their rows allow, said together or not."""
    kind = draw(st.sampled_from(list(FIELDS)))
    values: dict[str, object] = {}
    for row in FIELDS[kind]:
        may_be_unknown = usual(kind).get(row.name, "") is None
        values[row.name] = draw(
            st.none() | HELD[kind, row.name] if may_be_unknown else HELD[kind, row.name]
        )
    return cast("Finding", kind(**values))


def held(row: Field) -> st.SearchStrategy[object]:
    if issubclass(row.holds, StrEnum):
        return st.sampled_from(list(row.holds))
    return {
        float: st.integers(-99999, 99999).map(lambda n: n / 100),
        int: st.integers(-999, 999),
        bool: st.booleans(),
        date: st.dates(),
        str: st.text("0123456789", min_size=1) if row.name != "text" else TEXT,
    }[row.holds]


TEXT = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"))
HELD = {(kind, row.name): held(row) for kind, rows in FIELDS.items() for row in rows}


@given(with_any_values())
@settings(max_examples=400, deadline=None)
def test_whatever_the_fields_of_a_finding_hold_comes_back_from_its_row(finding: Finding) -> None:
    assert from_its_row(finding) == plainly(finding)


def from_its_row(finding: Finding) -> Finding:
    recorded = RecordedFinding(1, finding, FindingState.ACCEPTED, "heard")
    (row,) = finding_rows((Exam(1, ON, recorded=(recorded,)),))
    content = io.StringIO(table(FINDINGS_HEADER, [row]).decode(), newline="")
    (_, cells) = csv.reader(content, strict=True)
    return read_finding(dict(zip(FINDINGS_HEADER, map(plain_text, cells), strict=True)))


HOSTILE = ("=1+1", "+1", "@SUM(A1)", "'", "3/4", "9:30", "0412", "1e5", "true", "2026-11-18",
           "12345678901234567890", "1,5", "50%", "a;b", '"', "ä — ✓", "=HYPERLINK(\"x\")",
           "3.14", "- 2", "1.2.3", "a; b=c", "text=x", "; ", "=")  # fmt: skip


@pytest.mark.parametrize("text", HOSTILE)
def test_a_hostile_note_comes_back_letter_for_letter(tmp_path: Path, text: str) -> None:
    visit = heard("cow oh four one two", "take a note", Chatter(text), "open")
    before = written(tmp_path, visit)
    (exam,) = read_csv_visit(tmp_path, ON, HERD).exams
    assert [f.text for f in exam.findings if isinstance(f, Note)] == [text]
    assert again(tmp_path) == before


@pytest.mark.parametrize("tag", ["0412", "00", "837", "1234567890123456"])
def test_a_tag_keeps_its_zeros_in_a_spreadsheet(tag: str) -> None:
    assert plain_text(text_cell(tag)) == tag
    assert text_cell(tag).startswith("'") == (tag != "837")


def test_every_mistake_is_named_by_file_line_and_column(tmp_path: Path) -> None:
    written(tmp_path, farm_visit())
    path = tmp_path / FINDINGS_NAME
    lines = path.read_text(encoding="utf-8").split("\n")
    lines[2] = lines[2].replace("corpus_luteum", "corpus_lutem").replace("right", "rihgt")
    lines[3] = lines[3].replace("small_follicles", "large_follicles")
    lines[4] = lines[4].replace(",45,", ",fortyfive,")
    lines[5] = lines[5].replace("accepted", "fine")
    path.write_text("\n".join(lines), encoding="utf-8")
    with pytest.raises(BadInputError) as caught:
        read_csv_visit(tmp_path, ON)
    told = str(caught.value)
    assert str(path) in told
    for part in (
        "line 3, column detail: 'corpus_lutem'",
        "line 4, column detail: 'large_follicles'",
        "line 5, column value: 'fortyfive'",
        "line 6, column state: 'fine'",
    ):
        assert part in told


def test_a_finding_of_no_exam_or_of_another_tag_is_refused(tmp_path: Path) -> None:
    written(tmp_path, heard("cow five", "open"))
    path = tmp_path / FINDINGS_NAME
    path.write_text(path.read_text().replace("1,5,", "9,5,", 1), encoding="utf-8")
    with pytest.raises(BadInputError, match=r"line 2, column exam: 9 is not in exams\.csv"):
        read_csv_visit(tmp_path, ON)
    path.write_text(path.read_text().replace("9,5,", "1,6,", 1), encoding="utf-8")
    with pytest.raises(BadInputError, match="line 2, column tag: '6' is not the tag"):
        read_csv_visit(tmp_path, ON)


def test_another_header_is_refused(tmp_path: Path) -> None:
    written(tmp_path, heard("cow five", "open"))
    path = tmp_path / EXAMS_NAME
    path.write_text(path.read_text().replace("status", "state", 1), encoding="utf-8")
    with pytest.raises(BadInputError, match=r"line 1: not the header .*status"):
        read_csv_visit(tmp_path, ON)


def test_the_day_is_read_off_local_times_and_never_off_utc(tmp_path: Path) -> None:
    visit = heard("cow five", "open")
    written(tmp_path, visit)
    assert read_csv_visit(tmp_path).on_date is None
    local = replace(visit.exams[0], started_at="2026-11-18T09:00:00")
    written(tmp_path, replace(visit, exams=(local,)))
    assert read_csv_visit(tmp_path).on_date == date(2026, 11, 18)


@pytest.fixture(scope="module")
def spreadsheet() -> str:
    found = shutil.which("soffice")
    if found is None:
        pytest.skip("LibreOffice: soffice is not on this machine")
    return found


def test_a_spreadsheet_opens_and_saves_the_files_without_damage(
    tmp_path: Path, spreadsheet: str
) -> None:
    notes = [part for text in HOSTILE for part in ("take a note", Chatter(text))]
    visit = farm_visit("next cow oh five one two", "open", *notes)
    write_records(tmp_path, visit, flags_of(visit))
    saved = tmp_path / "saved"
    as_csv = "csv:Text - txt - csv (StarCalc):44,34,76,1"
    command = [spreadsheet, "--headless", f"-env:UserInstallation={(tmp_path / 'user').as_uri()}"]
    # 76 is UTF-8, as a person chooses when opening a file without a byte order mark.
    command += ["--infilter=CSV:44,34,76,1", "--convert-to", as_csv, "--outdir", str(saved)]
    command += [str(tmp_path / name) for name in (EXAMS_NAME, FINDINGS_NAME, QUESTIONS_NAME)]
    subprocess.run(command, check=True, capture_output=True, timeout=120)
    before = read_csv_visit(tmp_path, ON, HERD)
    assert any(asked.alternatives for mine in before.asked.values() for asked in mine)
    assert read_csv_visit(saved, ON, HERD) == before
    assert before.exams[-1].tag == "0512"
