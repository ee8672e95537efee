"""A stored visit heard again by the real recogniser: what would change, and what must not."""

from __future__ import annotations

import json
import re
import shutil
from dataclasses import replace
from pathlib import Path

import pytest

from dictation.cli.app import run
from dictation.decide.people.orders import About, order
from dictation.decide.record import Record
from dictation.visit.apply import fold
from dictation.visit.inputs import By, Noted, PhraseHeard
from dictation.visit.journal import AUDIO_FOLDER, Journal
from dictation.visit.state import Visit
from grammar.parse import parse
from tests.decide.spoken import ON


@pytest.fixture(scope="module")
def misheard(heard: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The visit as an older grammar might have heard it: one size wrong, one phrase refused."""
    folder = tmp_path_factory.mktemp("misheard") / "visit"
    shutil.copytree(heard / AUDIO_FOLDER, folder / AUDIO_FOLDER)
    with Journal.read(heard) as journal, Journal.write(folder) as older:
        record = Record(older)
        came_in = dict(journal.evidence())
        for act in journal.acts():
            # What simply happened is its own evidence.
            given = came_in.get(act.seq) or Noted(act.facts[0])  # type: ignore[arg-type]
            record.take(_worse(given) if isinstance(given, PhraseHeard) else given)
    return folder


def _worse(given: PhraseHeard) -> PhraseHeard:
    words = "" if not given.hypotheses else given.hypotheses[0].normal
    if "with a cavity" in words:
        wrong = re.sub("twenty two|22", "thirty two", words)
        return replace(given, said=parse(wrong, ON).said)
    if "follicle twelve" in words:
        return replace(given, said=())
    return given


def folded(folder: Path) -> Visit:
    with Journal.read(folder) as journal:
        return fold(journal.acts())


def phrase_of(visit: Visit, words: str) -> int:
    return next(phrase.number for phrase in visit.phrases if words in phrase.text)


def differences(text: str) -> list[dict[str, object]]:
    return [json.loads(line) for line in text.splitlines()]


def test_it_shows_what_would_change_and_changes_nothing(
    misheard: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    before = folded(misheard)
    assert run(["replay", str(misheard), "--json"]) == 0
    told = capsys.readouterr()
    found = {str(d["text"]): d for d in differences(told.out)}
    (size,) = [d for text, d in found.items() if "with a cavity" in text]
    assert [f["size_mm"] for f in size["before"]] == [32.0]  # type: ignore[attr-defined]
    assert [f["size_mm"] for f in size["now"]] == [22.0]  # type: ignore[attr-defined]
    assert "right ovary follicle twelve" in found
    assert "would change" in told.err
    assert folded(misheard) == before


def test_told_to_it_takes_over_what_is_sure_and_leaves_what_people_did(
    misheard: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = tmp_path / "visit"
    shutil.copytree(misheard, folder)
    with Record.amend(folder) as desk:
        about = About(phrase=phrase_of(desk.visit, "with a cavity"))
        desk.put_right(order(desk.visit, "phrase", about, "l ov cl 27").deed, By("anna"))
    assert run(["replay", str(folder), "--apply"]) == 0
    told = capsys.readouterr()
    assert "follicle 12 mm" in told.out
    visit = folded(folder)
    exam = visit.exams[1]
    sizes = [getattr(finding, "size_mm", None) for finding in exam.findings]
    assert 27.0 in sizes
    assert 22.0 not in sizes
    assert 12.0 in sizes
    assert b"12" in (folder / "findings.csv").read_bytes()
    with Journal.read(folder) as journal:
        first = [given for _, given in journal.evidence(of=PhraseHeard)]
    with Journal.read(misheard) as journal:
        assert first == [given for _, given in journal.evidence(of=PhraseHeard)]


def test_heard_again_by_the_same_engine_nothing_changes(
    heard: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["replay", str(heard), "--json"]) == 0
    assert differences(capsys.readouterr().out) == []


@pytest.mark.parametrize("options", [["extra.wav"], []])
def test_apply_belongs_to_the_folder_of_a_visit(
    heard: Path, tmp_path: Path, options: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    given = [str(heard), *options] if options else [str(tmp_path / "none.wav")]
    assert run(["replay", *given, "--apply"]) == 2
    assert len(capsys.readouterr().err.splitlines()) == 1
