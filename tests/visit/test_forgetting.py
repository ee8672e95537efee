"""What is forgotten is gone from every byte; what somebody approved stays, and who did it."""

from __future__ import annotations

import os
import shutil
import sqlite3
import stat
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import closing, contextmanager
from datetime import UTC, date, datetime, timedelta
from functools import partial
from pathlib import Path

import numpy as np
import pytest
import soundfile as sf

from dictation.audio.endpoint import Utterance
from dictation.audio.samples import SAMPLE_RATE_HZ, Samples
from dictation.audio.spool import Spool, spooled
from dictation.cli.app import run
from dictation.decide.record import Record
from dictation.errors import HornsweepError, MissingError
from dictation.intake.forget import forget, forget_talk_in_time
from dictation.intake.upgrade import KEPT_NAME, brought_up
from dictation.live.session import Session
from dictation.recognition.protocol import Heard, Hypothesis, Outcome
from dictation.records.visit_files import write_visit_files
from dictation.visit.facts import Forgotten
from dictation.visit.forgetting import GONE
from dictation.visit.inputs import By, ExamApproved, PhrasePutRight
from dictation.visit.journal import Journal
from dictation.visit.parts import Fate
from dictation.visit.state import Visit
from grammar.findings import Note
from grammar.normalise import normalise
from grammar.parse import parse
from tests.releases import OF_FACTS, restored

DAY = date(2026, 11, 18)
SAID = (
    "cow eight three seven",
    "left ovary CL twenty-two",
    "note kicked the gate",
    "open",
    "pause",
    "nobody shall know of the mortgage",
    "resume",
    "next cow four one two",
    "note bites strangers",
    "right ovary follicle sixteen, pregnant forty-five days",
)
PAUSED, NOTE_OF_837, NOTE_OF_412 = 6, 3, 9


class Told:
    """Hears what it is told to: each sound by its place in the list."""

    name = "told"

    def __init__(self) -> None:
        self._left = list(SAID)

    def recognise(self, samples: Samples) -> Heard:
        text = self._left.pop(0)
        found = Hypothesis(text, normalise(text), (), 0.0, 1)
        return Heard(Outcome.HEARD, (found,), text, confidence=1.0)


class At:
    """A clock that stands."""

    def __init__(self, moment: datetime) -> None:
        self._moment = moment

    def now(self) -> datetime:
        return self._moment


def sound_of(number: int) -> Samples:
    """A tone of its own for each phrase."""
    at = np.arange(SAMPLE_RATE_HZ) / SAMPLE_RATE_HZ
    return (0.2 * np.sin(2 * np.pi * (200 + 37 * number) * at)).astype(np.float32)


@pytest.fixture(autouse=True)
def of_its_own(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> None:
    """What is forgotten goes from the system's folders too: here they are of the test alone."""
    there = tmp_path_factory.mktemp("system")
    monkeypatch.setattr(tempfile, "tempdir", str(there))
    monkeypatch.setenv("XDG_CACHE_HOME", str(there))


def visit_in(folder: Path, approved: str = "837", when: datetime | None = None) -> Path:
    """A visit that was spoken, with its sound; one animal is approved."""
    clock = None if when is None else At(when)
    with Journal.write(folder, clock) as journal:
        session = Session(journal, parse, Told(), partial(write_visit_files, folder))
        session.begin(DAY, DAY)
        spool = Spool(folder, 0.0)
        for number in range(1, len(SAID) + 1):
            spool.write(np.zeros(SAMPLE_RATE_HZ, np.float32))
            spool.write(sound_of(number))
            from_s = 2.0 * number - 1.0
            session.hear(Utterance(sound_of(number), from_s, from_s + 1.0, number))
        spool.close()
        session.close()
    with Record.amend(folder, partial(write_visit_files, folder), clock) as record:
        for exam in record.visit.exams:
            if exam.tag in approved.split():
                record.put_right(ExamApproved(exam.number), By("Anna", based_on=10**6))
    return folder


def visit_of(folder: Path) -> Visit:
    with Journal.read(folder) as journal:
        assert journal.damage() == ()
        return journal.visit()


def is_anywhere(folder: Path, words: str) -> list[str]:
    """Files of a folder whose bytes hold these words, in any of the usual letters."""
    wanted = [words.encode(code) for code in ("utf-8", "utf-16-le")]
    paths = (path for path in folder.rglob("*") if path.is_file())
    return [path.name for path in paths if any(w in path.read_bytes() for w in wanted)]


def heard_at(folder: Path, number: int) -> float:
    """How loud the stream is where a phrase was said."""
    from_s = 2.0 * number - 1.0
    samples = np.concatenate([part for _, part in spooled(folder, 0.0)])
    return float(np.abs(samples[int(from_s * 16_000) : int((from_s + 1) * 16_000)]).max())


def forgotten(folder: Path) -> list[tuple[str, Forgotten]]:
    acts = visit_of(folder).acts.values()
    return [(act.who, fact) for act in acts for fact in act.of(Forgotten)]


def quiet(sentence: str) -> None:
    """Nobody listens."""


def test_what_was_said_while_paused_is_gone_from_every_byte(tmp_path: Path) -> None:
    folder = visit_in(tmp_path / "visit")
    before = visit_of(folder)
    assert before.spoken[PAUSED].fate is Fate.PAUSED
    assert "visit.sqlite" in is_anywhere(folder, "mortgage")
    forget(folder, "talk", "Berta", quiet)
    assert is_anywhere(folder, "mortgage") == []
    assert not (folder / "audio" / "0006.flac").exists()
    assert heard_at(folder, PAUSED) == 0.0
    assert heard_at(folder, PAUSED - 1) > 0.1
    after = visit_of(folder)
    assert after.spoken[PAUSED].text == GONE
    assert after.exams == before.exams
    assert forgotten(folder) == [("Berta", Forgotten("talk", (PAUSED,), (1,)))]


def test_a_phrase_is_forgotten_with_its_note_its_questions_and_what_was_put_right(
    tmp_path: Path,
) -> None:
    folder = visit_in(tmp_path / "visit")
    with Record.amend(folder, partial(write_visit_files, folder)) as record:
        text = "note bites strangers and vets"
        deed = PhrasePutRight(NOTE_OF_412, text, parse(text, DAY).said)
        record.put_right(deed, By("Anna", "she bites strangers", based_on=10**6))
    assert "findings.csv" in is_anywhere(folder, "bites strangers")
    forget(folder, "phrase", "Berta", quiet, NOTE_OF_412)
    assert is_anywhere(folder, "strangers") == []
    assert heard_at(folder, NOTE_OF_412) == 0.0
    notes = [r.finding for e in visit_of(folder).exams for r in e.standing]
    assert Note(GONE) in notes
    assert Note("kicked the gate") in notes


def test_the_record_of_a_finding_that_somebody_approved_stays(tmp_path: Path) -> None:
    folder = visit_in(tmp_path / "visit")
    forget(folder, "phrase", "Berta", quiet, NOTE_OF_837)
    after = visit_of(folder)
    assert after.is_approved(1)
    exam = after.exam(1)
    assert exam is not None
    assert Note("kicked the gate") in [r.finding for r in exam.standing]
    assert not list((folder / "audio").glob("0003*"))


def test_sound_goes_and_words_stay(tmp_path: Path) -> None:
    folder = visit_in(tmp_path / "visit")
    before = visit_of(folder)
    forget(folder, "sound", "Berta", quiet)
    assert [path for path in (folder / "audio").rglob("*") if path.is_file()] == []
    after = visit_of(folder)
    assert [p.text for p in after.phrases] == [p.text for p in before.phrases]
    assert all(p.audio is None for p in after.phrases)
    assert after.exams == before.exams


def test_of_all_that_was_said_only_approved_animals_stay(tmp_path: Path) -> None:
    folder = visit_in(tmp_path / "visit")
    before = visit_of(folder).exam(1)
    forget(folder, "all", "Berta", quiet)
    after = visit_of(folder)
    assert [exam.tag for exam in after.exams] == ["837"]
    (exam,) = after.exams
    assert before is not None
    assert exam.findings == before.findings
    assert exam.approved == before.approved
    for words in ("mortgage", "strangers", '"412"', "four one two", "CL twenty-two"):
        assert is_anywhere(folder, words) == []
    assert [who for who, _ in forgotten(folder)] == ["Berta"]


def test_the_original_of_an_earlier_journal_goes_too(tmp_path: Path) -> None:
    folder = restored("2026-11-28/doubtful", tmp_path / "visit")
    brought_up(folder)
    assert (folder / KEPT_NAME).exists()
    texts = [p.text for p in visit_of(folder).phrases if " " in p.text]
    forget(folder, "all", "Berta", quiet)
    assert not (folder / KEPT_NAME).exists()
    assert texts
    for text in texts:
        assert is_anywhere(folder, text) == []


def test_a_visit_that_another_program_has_open_is_left_alone(tmp_path: Path) -> None:
    folder = visit_in(tmp_path / "visit")
    with Journal.read(folder), pytest.raises(MissingError, match="try again"):
        forget(folder, "talk", "Berta", quiet)
    assert is_anywhere(folder, "mortgage")
    forget(folder, "talk", "Berta", quiet)
    assert is_anywhere(folder, "mortgage") == []


@pytest.mark.parametrize(("approved", "days", "gone"), [
    ("837 412", 31, True), ("837 412", 29, False), ("837", 31, False),
])  # fmt: skip
def test_talk_goes_by_itself_a_while_after_all_is_approved(
    approved: str, days: int, gone: bool, tmp_path: Path
) -> None:
    when = datetime.now(UTC) - timedelta(days=days)
    folder = visit_in(tmp_path / "visit", approved, when)
    forget_talk_in_time(folder, quiet)
    assert (is_anywhere(folder, "mortgage") == []) is gone
    forget_talk_in_time(folder, quiet)
    assert len(forgotten(folder)) == int(gone)


def test_the_command_asks_and_says_what_it_removed(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = visit_in(tmp_path / "visits" / "one")
    assert run(["forget", str(folder), "--phrase", "99", "--yes"]) == 2
    assert run(["forget", str(tmp_path), "--sound", "--yes"]) == 3
    assert run(["forget", str(tmp_path), "--sound", "--older-than", "36500", "--yes"]) == 0
    assert "Nothing was removed" in capsys.readouterr().err
    assert run(["forget", str(folder), "--phrase", "9", "--yes", "--who", "Berta"]) == 0
    assert "phrase 9" in capsys.readouterr().err
    assert is_anywhere(folder, "strangers") == []
    assert run(["check", str(folder)]) == 0


def test_changed_words_of_a_forgotten_entry_are_still_noticed(tmp_path: Path) -> None:
    folder = visit_in(tmp_path / "visit")
    forget(folder, "phrase", "Berta", quiet, 2)
    shutil.copytree(folder, tmp_path / "copy")
    assert visit_of(tmp_path / "copy").spoken[2].text == GONE
    with closing(sqlite3.connect(tmp_path / "copy" / "visit.sqlite")) as connection:
        connection.execute("DROP TRIGGER entry_never_changes")
        changed = "UPDATE entry SET facts = replace(facts, '\"size_mm\":22.0', '\"size_mm\":23.0')"
        assert connection.execute(changed).rowcount
        connection.commit()
    with pytest.raises(HornsweepError, match="repair"):
        visit_of(tmp_path / "copy")


@pytest.mark.parametrize("name", OF_FACTS)
def test_any_phrase_of_any_visit_can_be_forgotten(name: str, tmp_path: Path) -> None:
    before = visit_of(restored(name, tmp_path / "visit"))
    for number, phrase in before.spoken.items():
        folder = restored(name, tmp_path / str(number))
        with Journal.read(folder) as journal:
            others = [row.evidence for row, _ in journal.rows() if row.phrase != number]
        forget(folder, "phrase", "Berta", quiet, number)
        after = visit_of(folder)
        assert after.spoken[number].text == GONE
        assert [e.tag for e in after.exams] == [e.tag for e in before.exams]
        assert [e.approved for e in after.exams] == [e.approved for e in before.exams]
        if " " in phrase.text and not any(phrase.text in text for text in others):
            assert "visit.sqlite" not in is_anywhere(folder, phrase.text)
        with Journal.write(folder) as journal:
            session = Session(journal, parse)
            assert session.type("next cow 9999")


@contextmanager
def open_to_all() -> Iterator[None]:
    """As most systems start: files for all to read."""
    was = os.umask(0o022)
    try:
        yield
    finally:
        os.umask(was)


@pytest.mark.skipif(sys.platform == "win32", reason="Windows has no such bits")
def test_nobody_else_can_read_what_a_command_wrote(tmp_path: Path) -> None:
    script = tmp_path / "p.txt"
    script.write_text("cow 837\nopen\n")
    folder = tmp_path / "visits" / "visit"
    command = [sys.executable, "-m", "dictation", "replay", str(script), "--out", str(folder)]
    with open_to_all():
        subprocess.run(command, check=True, capture_output=True)
    for path in (folder.parent, folder, *folder.rglob("*")):
        wanted = 0o700 if path.is_dir() else 0o600
        assert stat.S_IMODE(path.stat().st_mode) == wanted, path


@pytest.mark.skipif(sys.platform == "win32", reason="Windows has no such bits")
def test_the_folder_of_an_earlier_visit_is_closed_when_it_is_gone_on_with(tmp_path: Path) -> None:
    folder = visit_in(tmp_path / "visit")
    folder.chmod(0o755)
    Journal.write(folder).close()
    assert stat.S_IMODE(folder.stat().st_mode) == 0o700


def test_sound_is_left_readable(tmp_path: Path) -> None:
    folder = visit_in(tmp_path / "visit")
    forget(folder, "talk", "Berta", quiet)
    for path in (folder / "audio").rglob("*.flac"):
        assert len(sf.read(path)[0])
