"""The recorder's desk in the console: what is asked comes first, a line puts it right."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pexpect
import pytest

from dictation.cli.app import run
from dictation.console.desk import Desk
from dictation.console.desk_view import desk_view
from dictation.errors import MissingError, WrongUseError
from dictation.session.agenda import agenda
from dictation.session.corrections import Corrections
from dictation.session.events import Renumbered
from dictation.session.fold import fold
from dictation.session.journal import Journal
from dictation.session.session import Session
from dictation.session.visit import Visit
from grammar.exam import Exam
from grammar.parse import parse
from tests.session.spoken import Chatter, Phrase, Unsure, entries_of, standing

SPOKEN: tuple[Phrase, ...] = (
    "cow eight three seven",
    "left ovary CL twenty-two, follicle nine",
    "next cow four one two",
    Chatter("shut that gate"),
    Unsure("pregnant forty days", ("pregnant fourteen days",)),
)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    with Journal.write(tmp_path) as journal:
        for entry in entries_of(*SPOKEN):
            journal.append(entry.event)
    return tmp_path


class Played:
    """Notes what was played."""

    def __init__(self) -> None:
        self.names: list[str] = []

    def __call__(self, name: str) -> None:
        self.names.append(name)


@pytest.fixture
def played() -> Played:
    return Played()


@pytest.fixture
def desk(folder: Path, played: Played) -> Iterator[Desk]:
    with Corrections(folder) as corrections:
        yield Desk(corrections, "anna", played)


def folded(folder: Path) -> Visit:
    with Journal.read(folder) as journal:
        return fold(journal.entries())


def exam(desk: Desk, number: int) -> Exam:
    found = desk.visit.exam(number)
    assert found is not None
    return found


def test_what_is_asked_comes_first(desk: Desk) -> None:
    shown = desk_view(desk, 80)
    assert "ASKED  exam 2  tag 412" in shown
    assert "1  pregnant 40 days" in shown
    assert "2  pregnant 14 days" in shown
    assert "doubtful 0.50" in shown


def test_a_digit_takes_an_answer_and_nought_takes_none(desk: Desk) -> None:
    assert desk.take("2") == "Taken: pregnant 14 days."
    assert not desk.visit.open_queries
    desk.take("/undo")
    desk.take("0")
    assert "pregnant 14 days" not in str(exam(desk, 2).standing)
    assert not desk.visit.open_queries


def test_a_phrase_in_short_puts_right_what_was_heard(desk: Desk) -> None:
    desk.take("p 45 d")
    (finding,) = [r for r in exam(desk, 2).standing if r.number // 100 == 5]
    assert finding.finding == parse("pregnant forty-five days").findings[0]
    desk.take("/go 837")
    assert desk.take("l ov cl 24") == "It says now: left ovary corpus luteum 24 mm."


def test_after_the_questions_come_flags_then_refused_speech(desk: Desk) -> None:
    with Corrections(desk._corrections.folder) as other:
        other.put(Renumbered(1, "412", "ben"), other.visit.last_seq)
    desk.refresh()
    kinds = []
    for _ in agenda(desk.visit, desk._corrections.flags):
        kinds.append(desk_view(desk, 80).splitlines()[1].split("  ")[0].strip())
        desk.take("")
    assert kinds[0] == "ASKED"
    assert kinds[-1] == "LOOK AT"
    assert set(kinds[1:-1]) == {"FLAGGED"}
    assert "passed over" in desk_view(desk, 80)


def test_refused_speech_is_taken_up(desk: Desk) -> None:
    desk.take("1")
    while desk.utterance is None or desk.utterance.number != 4:
        desk.take("/next")
    desk.take("r ov cl 18")
    assert exam(desk, 2).standing[-1].at_s == 40.0


@pytest.mark.parametrize(
    ("orders", "tags"),
    [
        (["/go 412", "/tag 413"], ["837", "413"]),
        (["/go 412", "/merge 837"], ["412"]),
        (["/go 837", "/split"], ["837", None, "412"]),
        (["/go 837", "/add 555"], ["837", "555", "412"]),
        (["/go 837", "/add 555", "/undo"], ["837", "412"]),
    ],
)
def test_animals_are_renumbered_merged_split_and_added(
    desk: Desk, orders: list[str], tags: list[str | None]
) -> None:
    for order in orders:
        desk.take(order)
    assert [each.tag for each in desk.visit.exams] == tags


def test_a_phrase_is_moved_inserted_and_withdrawn(desk: Desk) -> None:
    desk.take("/go 837")
    desk.take("/move 412")
    assert "follicle nine" in standing(exam(desk, 2))
    desk.take("/go 837")
    desk.take("/insert tw")
    assert standing(exam(desk, 1))[-1] == "tw"
    desk.take("/go exam 2")
    desk.take("/withdraw 1")
    assert desk.visit.changes[-1].now is None


def test_a_reason_goes_with_the_next_correction_only(desk: Desk) -> None:
    desk.take("/why it rained")
    desk.take("/go 837")
    desk.take("l ov cl 24")
    desk.take("/go 837")
    desk.take("l ov cl 26")
    assert [deed.why for deed in desk.visit.deeds] == ["it rained", ""]


def test_the_sound_is_played(desk: Desk, played: Played) -> None:
    assert desk.take("/play") == "Played."
    assert played.names == ["0005.flac"]
    desk.take("/go 837")
    with pytest.raises(WrongUseError, match="no sound"):
        desk.take("/play")


def test_an_animal_and_the_visit_are_approved(desk: Desk) -> None:
    desk.take("/go 837")
    desk.take("/approve")
    desk.take("/approve visit")
    assert desk.visit.approved == (1,)
    assert desk.visit.visit_approved


@pytest.mark.parametrize(
    "line",
    ["tractor", "/burn", "/move 999", "/go", "/tag 4a", "scratch that", "9", "/withdraw 7",
     "/merge 412", "next cow"],
)  # fmt: skip
def test_what_cannot_be_done_changes_nothing(desk: Desk, line: str) -> None:
    before = desk.visit.last_seq
    with pytest.raises(WrongUseError):
        desk.take(line)
    assert desk.visit.last_seq == before


def test_hostile_words_send_nothing_to_the_terminal(tmp_path: Path, played: Played) -> None:
    bad = "\x1b]0;owned\x07\x1b[2J[red]shut\u202e"
    with Journal.write(tmp_path) as journal:
        for entry in entries_of("cow eight three seven", Chatter(bad), Renumbered(1, bad, bad)):
            journal.append(entry.event)
    with Corrections(tmp_path) as corrections:
        desk = Desk(corrections, bad, played)
        while desk.matter is not None:
            shown = desk_view(desk, 80, colour=False)
            assert "\x1b" not in shown
            assert "\x07" not in shown
            assert "\u202e" not in shown
            desk.take("")


def test_lines_may_come_from_a_file_and_the_csv_files_follow(folder: Path) -> None:
    lines = "2\n/go 837\nl ov cl 24\n/foo\n/quit\nnot reached\n"
    done = subprocess.run(
        [sys.executable, "-m", "dictation", "correct", str(folder), "--who", "anna"],
        input=lines,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0
    assert "'/foo' is nothing known here" in done.stderr
    assert "left ovary corpus luteum 24 mm" in done.stdout
    assert b"CL" not in (folder / "findings.csv").read_bytes()
    assert b"corrected" in (folder / "findings.csv").read_bytes()
    assert {deed.who for deed in folded(folder).deeds} == {"anna"}


def test_at_a_terminal_while_the_visit_is_recorded(folder: Path) -> None:
    """Keys, completion and undo under a pseudo-terminal; another process is recording."""
    with Journal.write(folder) as journal:
        session = Session(journal, parse)
        child = pexpect.spawn(
            sys.executable,
            ["-m", "dictation", "correct", str(folder), "--who", "anna"],
            encoding="utf-8",
            dimensions=(40, 100),
            timeout=30,
        )
        child.expect("ASKED  exam 2  tag 412")
        child.expect("put right>")
        child.send("2")
        child.expect("Taken: pregnant 14 days")
        child.expect("put right>")
        child.send("/go 837\r")
        child.expect("HEARD typed")
        child.expect("put right>")
        child.send("l ov c")
        child.expect("corpus")
        child.send("l 24\r")
        child.expect("It says now: left ovary corpus luteum 24 mm")
        session.type("twins")
        child.expect("put right>")
        child.send("\x1a")
        child.expect("Taken back: what anna did")
        child.expect("put right>")
        child.send("/quit\r")
        child.expect(pexpect.EOF)
        child.close()
        assert child.exitstatus == 0
        session.catch_up()
        assert session.visit == folded(folder)
    visit = folded(folder)
    assert [deed.undone for deed in visit.deeds] == [False, True, False]
    assert standing(visit.exam(2))[-1] == "twins"


def test_where_nothing_can_be_heard_it_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import numpy as np
    import soundfile as sf

    from dictation.audio import playback

    path = tmp_path / "0001.flac"
    sf.write(path, np.zeros(1600, np.float32), 16_000)
    monkeypatch.setattr(playback, "PLAYERS", ())
    monkeypatch.setitem(sys.modules, "sounddevice", None)
    with pytest.raises(MissingError, match="no sound output"):
        playback.play(path)


def test_there_must_be_a_visit(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["correct", str(tmp_path / "none")]) == 3
    assert "holds no visit" in capsys.readouterr().err
