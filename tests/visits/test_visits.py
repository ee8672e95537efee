"""Typed visits and what they come to, in files beside them. --rewrite-golden writes them anew."""

from __future__ import annotations

from pathlib import Path

import pytest

from dictation.console.summary import summary
from dictation.live.replay import replay
from dictation.live.session import Session
from dictation.records.herd_list import read_herd_list
from dictation.records.visit_files import exams_csv, findings_csv
from dictation.visit.inputs import Noted
from dictation.visit.journal import Journal
from grammar.parse import parse
from tests.console.drawing import drawn
from tests.decide.spoken import ON

HERE = Path(__file__).parent
VISITS = sorted(path.parent.name for path in HERE.glob("*/phrases.txt"))


def outcome(name: str, folder: Path) -> dict[str, bytes]:
    """What a visit comes to; the screen is that of the end of the phrases, then the summary."""
    with Journal.write(folder) as journal:
        session = Session(journal, parse)
        session.begin(ON, ON)
        herd = HERE / name / "herd.csv"
        if herd.is_file():
            session.take(Noted(read_herd_list(herd)))
        for _ in replay(session, HERE / name / "phrases.txt"):
            pass
        before_close = drawn(session.visit, 80, 60)
        session.close()
        visit, flags = session.visit, session.flags
    text = before_close + "\n" + summary(visit, flags, 80)
    return {
        "exams.csv": exams_csv(visit.exams, flags),
        "findings.csv": findings_csv(visit.exams),
        "screen.txt": text.encode(),
    }


@pytest.mark.parametrize("name", VISITS)
def test_a_typed_visit_comes_to_what_its_files_say(
    name: str, tmp_path: Path, rewrite_golden: bool
) -> None:
    for file, content in outcome(name, tmp_path).items():
        path = HERE / name / file
        if rewrite_golden:
            path.write_bytes(content)
        assert path.read_bytes().decode() == content.decode(), f"{name}/{file}"


def test_there_are_visits_to_compare() -> None:
    assert len(VISITS) >= 2
