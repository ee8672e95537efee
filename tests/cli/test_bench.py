"""``hornsweep bench``: the user's own recordings, spoken here by synthetic voices."""

from __future__ import annotations

from contextlib import closing
from datetime import date
from pathlib import Path

import pytest
import soundfile as sf

from dictation.cli.app import run
from dictation.decide.people.orders import findings_typed
from dictation.decide.record import Record
from dictation.visit.inputs import By, EntryTakenBack, PhrasePutRight
from dictation.visit.journal import Journal
from tests.bench.synthesis import ENGINES

ON = date(2026, 11, 18)
SPOKEN = {
    "ovary.wav": ("espeak", "en-gb", "left ovary C L twenty two millimetres"),
    "cow.flac": ("flite", "slt", "next cow eight three seven"),
    "talk.wav": ("flite", "slt", "did you close the gate this morning"),
    "follicle.wav": ("flite", "rms", "left ovary follicle nine millimetres"),
}
LABELS = """\
file,words,voice
ovary.wav,left ovary CL twenty-two millimetres,Ash
cow.flac,next cow 837,Rowan
talk.wav,,Rowan
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    for name, (engine, speaker, words) in SPOKEN.items():
        if ENGINES[engine].missing():
            pytest.skip(f"no {engine} here to speak the recordings")
        sound, rate_hz = ENGINES[engine].speaker(speaker)(words, 1.0, 1.0)
        sf.write(tmp_path / name, sound, rate_hz)
    return tmp_path


def told(folder: Path, labels: str, capsys: pytest.CaptureFixture[str]) -> list[str]:
    (folder / "recordings.csv").write_text(labels, encoding="utf-8")
    assert run(["bench", "--recordings", str(folder)]) == 0
    return [" ".join(line.split()) for line in capsys.readouterr().out.splitlines()]


def row(lines: list[str], name: str) -> str:
    return next(line for line in lines if line.startswith(f"{name} "))


def test_what_is_right_asked_and_stored_wrong_is_told_by_voice(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    lines = told(folder, LABELS, capsys)
    assert lines[0].startswith("3 recordings, 5 values, heard by guided on 20")
    assert row(lines, "all").startswith("all 3 5 of 5 0 of 3 0 of 5 0 of 5 ")
    assert row(lines, "Ash").startswith("Ash 1 3 of 3 ")
    assert row(lines, "Rowan").startswith("Rowan 2 2 of 2 ")
    assert not any(line.startswith(("WRONG", "LOST")) for line in lines)


def test_a_value_stored_otherwise_than_labelled_is_named(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    lines = told(folder, "file;words\nfollicle.wav;left ovary follicle sixteen\n", capsys)
    assert row(lines, "all").startswith("all 1 2 of 3 0 of 1 1 of 3 0 of 3 ")
    assert "WRONG follicle.wav: millimetres, said 16.0, stored 9.0" in lines


def test_what_is_not_taken_up_is_lost_and_what_is_taken_up_unsaid_is_wrong(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    lines = told(folder, "file,words\ntalk.wav,twins\nfollicle.wav,\n", capsys)
    assert "LOST talk.wav: count, said 2" in lines
    assert "WRONG follicle.wav: millimetres, said nothing, stored 9.0" in lines


def test_a_recording_that_cannot_be_heard_is_left_out(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (folder / "torn.wav").write_bytes(b"RIFF")
    (folder / "recordings.csv").write_text(f"{LABELS}torn.wav,open,Ash\n", encoding="utf-8")
    assert run(["bench", "--recordings", str(folder)]) == 0
    shown = capsys.readouterr()
    assert shown.out.startswith("3 recordings")
    assert "Left out" in shown.err
    assert "torn.wav" in shown.err


def test_phrases_put_right_in_a_reviewed_visit_are_labelled_already(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    visit = folder / "visit"
    files = [str(folder / name) for name in ("cow.flac", "ovary.wav", "follicle.wav")]
    assert run(["replay", *files, "--out", str(visit), "--date", "2026-11-18"]) == 0
    assert run(["bench", "--recordings", str(visit)]) == 3
    assert "no phrase was put right" in capsys.readouterr().err
    with closing(Journal.amend(visit)) as journal:
        record = Record(journal)
        for phrase, text in ((2, "left ovary CL 22"), (3, "l ov f 16"), (1, "cow 412")):
            record.take(PhrasePutRight(phrase, text, findings_typed(text, ON)), By("anna"))
        record.take(EntryTakenBack(record.visit.last_seq), By("anna"))
    capsys.readouterr()
    assert run(["bench", "--recordings", str(visit)]) == 0
    lines = [" ".join(line.split()) for line in capsys.readouterr().out.splitlines()]
    assert lines[0].startswith("2 recordings, 6 values, ")
    (wrong,) = [line for line in lines if line.startswith("WRONG")]
    assert wrong.endswith("millimetres, said 16.0, stored 9.0")


@pytest.mark.parametrize(
    ("labels", "named"),
    [
        ("file,said\na.wav,open\n", "no column 'words'"),
        ("file,words\n", "names no recording"),
        ("file,words\nnone.wav,open\n", "'none.wav' is not in"),
        ("file,words\na.wav,hold this\n", "line 2, column words: 'hold this' cannot be read"),
        ("file,words\na.wav,pregnant, forty days\na.wav,open\n", "stand in quotes"),
    ],
)
def test_labels_that_cannot_be_used_are_named_by_line(
    labels: str, named: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "a.wav").touch()
    (tmp_path / "recordings.csv").write_text(labels, encoding="utf-8")
    assert run(["bench", "--recordings", str(tmp_path)]) == 3
    error = capsys.readouterr().err
    assert len(error.splitlines()) == 1
    assert named in error


def test_a_folder_without_labels_is_told_what_to_write(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["bench", "--recordings", str(tmp_path)]) == 3
    assert "recordings.csv" in capsys.readouterr().err
