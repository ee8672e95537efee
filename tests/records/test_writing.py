"""Files of a visit that goes on: as if made anew, and written only where they change."""

from __future__ import annotations

import os
import random
import subprocess
import sys
from pathlib import Path

import pytest

from dictation.disk import remove_left_over
from dictation.records.practice.visit_lines import LINES_NAME, line_of, visit_lines, written
from dictation.records.questions_file import QUESTIONS_NAME, questions_csv
from dictation.records.visit_files import (
    EXAMS_NAME,
    FINDINGS_NAME,
    exams_csv,
    findings_csv,
    write_records,
    write_visit_files,
)
from dictation.visit.apply import after
from dictation.visit.inputs import ExamApproved, ExamsMerged, FindingWithdrawn, TagChanged
from dictation.visit.state import Visit
from grammar.sample import sample_phrase
from tests.decide.spoken import Phrase, Unsure
from tests.records.visits import OPENED, SPOKEN, acts_at, flags_of, heard, write_visit


def files(folder: Path) -> dict[str, bytes]:
    names = (EXAMS_NAME, FINDINGS_NAME, QUESTIONS_NAME)
    return {name: (folder / name).read_bytes() for name in names}


def made_anew(visit: Visit) -> dict[str, bytes]:
    return {
        EXAMS_NAME: exams_csv(visit.exams, flags_of(visit)),
        FINDINGS_NAME: findings_csv(visit.exams),
        QUESTIONS_NAME: questions_csv(visit),
    }


def test_at_every_moment_the_files_are_as_if_made_anew(tmp_path: Path) -> None:
    draw = random.Random(7)
    people = (FindingWithdrawn(2), TagChanged(2, "555"), ExamApproved(1), ExamsMerged(3, 2))
    said: list[Phrase] = [*SPOKEN, *people, *(sample_phrase(draw) for _ in range(10)), *people[:2]]
    visit, other = Visit(), heard("cow five", "open", "next cow six", "pregnant")
    for act in acts_at(OPENED, *said):
        visit = after(visit, act)
        write_records(tmp_path, visit, flags_of(visit))
        assert files(tmp_path) == made_anew(visit)
        asked = {query.exam for query in visit.all_queries.values()}
        lines = (written(line_of(exam, exam.number in asked)) for exam in visit.exams)
        assert visit_lines(visit).body == b"".join(lines)
        if act.seq % 5 == 0:  # another visit in the same process
            write_records(tmp_path, other, flags_of(other))
            assert files(tmp_path) == made_anew(other)


def test_a_file_that_did_not_change_is_left_alone(tmp_path: Path) -> None:
    names = (EXAMS_NAME, FINDINGS_NAME, QUESTIONS_NAME, LINES_NAME)

    def write(visit: Visit) -> dict[str, int]:
        write_visit_files(tmp_path, visit, flags_of(visit))
        return {name: (tmp_path / name).stat().st_ino for name in names}

    doubtful = Unsure("left ovary CL forty", ("left ovary CL fourteen",))
    first = write(write_visit(tmp_path, "cow five", doubtful))
    assert write(write_visit(tmp_path)) == first
    more = write(write_visit(tmp_path, "next cow six", "open"))
    assert {name for name in names if more[name] != first[name]} == {
        EXAMS_NAME,
        FINDINGS_NAME,
        LINES_NAME,
    }


def test_a_file_that_somebody_changed_is_put_right(tmp_path: Path) -> None:
    visit = heard("cow five", "open")
    for content in (b"", b"x" * len(questions_csv(visit))):
        write_records(tmp_path, visit, flags_of(visit))
        (tmp_path / QUESTIONS_NAME).write_bytes(content)
        write_records(tmp_path, visit, flags_of(visit))
        assert files(tmp_path) == made_anew(visit)


@pytest.mark.skipif(os.name == "nt", reason="on Windows nothing is removed")
def test_what_a_dead_process_left_is_removed_and_what_a_living_one_writes_stays(
    tmp_path: Path,
) -> None:
    with subprocess.Popen([sys.executable, "-c", ""]) as process:
        process.wait()
    left = tmp_path / f".exams.csv.{process.pid}.part"
    huge = tmp_path / f".findings.csv.{10**30}.part"
    stay = [
        tmp_path / f".exams.csv.{os.getpid()}.part",
        tmp_path / f"exams.csv.{process.pid}.part",
        tmp_path / f".exams.csv.{process.pid}.party",
        tmp_path / ".exams.csv.part",
    ]
    for path in (left, huge, *stay):
        path.write_bytes(b"half")
    visit = write_visit(tmp_path, "cow five", "open")
    write_visit_files(tmp_path, visit, flags_of(visit))
    assert not left.exists()
    assert not huge.exists()
    assert all(path.read_bytes() == b"half" for path in stay[1:])
    stay[0].write_bytes(b"half")  # written over by this process itself
    remove_left_over(tmp_path)
    assert stay[0].exists()


def test_a_folder_that_is_not_there_has_nothing_left_over(tmp_path: Path) -> None:
    remove_left_over(tmp_path / "none")
