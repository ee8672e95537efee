"""The recorder's desk in the console: what is asked comes first, a line puts it right."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pexpect
import pytest

from dictation.cli.app import run
from dictation.console.desk import LOOKING, MOVES, PUTTING_RIGHT, Desk
from dictation.console.desk_view import desk_view
from dictation.decide.people.agenda import agenda
from dictation.decide.people.orders import ORDERS
from dictation.decide.record import Record
from dictation.decide.taking_back import is_taken_back
from dictation.errors import MissingError, WrongUseError
from dictation.live.session import Session
from dictation.visit.apply import fold
from dictation.visit.facts import VisitOpened
from dictation.visit.inputs import PEOPLES, By, Noted, TagChanged
from dictation.visit.journal import Journal
from dictation.visit.state import Act, Visit
from grammar.exam import Exam, FindingState
from grammar.parse import parse
from tests.decide.spoken import ON, Chatter, Unsure, given_of, standing

SPOKEN: tuple[str | Chatter | Unsure, ...] = (
    "cow eight three seven",
    "left ovary CL twenty-two, follicle nine",
    "next cow four one two",
    Chatter("and on the right"),
    Unsure("pregnant forty days", ("pregnant fifty days",)),
)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    dictated(tmp_path, *SPOKEN)
    return tmp_path


def dictated(folder: Path, *phrases: str | Chatter | Unsure) -> None:
    """A visit in which these phrases were said."""
    with Journal.write(folder) as journal:
        record = Record(journal)
        record.take(Noted(VisitOpened(ON)))
        for phrase in phrases:
            record.take(given_of(record.visit, phrase))


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
    with Record.amend(folder) as record:
        yield Desk(record, "anna", played)


def folded(folder: Path) -> Visit:
    with Journal.read(folder) as journal:
        return fold(journal.acts())


def deeds(visit: Visit) -> list[Act]:
    """What people did, in that order."""
    return [act for _, act in sorted(visit.acts.items()) if act.kind in PEOPLES]


def exam(desk: Desk, number: int) -> Exam:
    found = desk.visit.exam(number)
    assert found is not None
    return found


def test_what_is_asked_comes_first(desk: Desk) -> None:
    shown = desk_view(desk, 80)
    assert "ASKED  exam 2  tag 412" in shown
    assert "1  pregnant 40 days" in shown
    assert "2  pregnant 50 days" in shown
    assert "doubtful 0.50" in shown


def test_a_digit_takes_an_answer_and_nought_takes_none(desk: Desk) -> None:
    assert desk.take("2") == "Tag 412: pregnant 40 days became pregnant 50 days."
    assert not desk.visit.open_queries
    desk.take("/undo")
    desk.take("0")
    assert "pregnant 50 days" not in str(exam(desk, 2).standing)
    assert not desk.visit.open_queries


def test_a_phrase_in_short_puts_right_what_was_heard(desk: Desk) -> None:
    desk.take("p 45 d")
    (finding,) = [r for r in exam(desk, 2).standing if r.phrase == 5]
    assert finding.finding == parse("pregnant forty-five days").findings[0]
    desk.take("/go 837 2")
    assert desk.take("l ov cl 24, f 9") == (
        "Tag 837: left ovary corpus luteum 22 mm became left ovary corpus luteum 24 mm."
    )


def test_one_value_of_any_finding_is_put_right_from_anywhere(desk: Desk) -> None:
    """The tag, then the finding's place and the value: nine keys, Enter among them."""
    desk.take("837")
    assert "finding 2: left ovary corpus luteum 22 mm" in desk_view(desk, 80)
    assert desk.take("2 26") == (
        "Tag 837: left ovary corpus luteum 22 mm became left ovary corpus luteum 26 mm."
    )
    desk.take("2 right")
    assert "finding 2: right ovary corpus luteum 26 mm" in desk_view(desk, 80)
    desk.take("/withdraw 3")
    assert standing(exam(desk, 1))[-1] == "left ovary cl twenty two"


def test_what_retyping_takes_away_is_said_first_and_asked(desk: Desk) -> None:
    desk.take("/insert r ov f 12")
    desk.take("/go 837 2")
    told = desk.take("r ov f 15")
    assert told.splitlines() == [
        "Takes away: left ovary corpus luteum 22 mm."
        " Changes: left ovary follicle 9 mm to right ovary follicle 15 mm.",
        "  1  Do that",
        "  2  Add right ovary follicle 15 mm, and take nothing away",
        "  0  leave it as it is",
    ]
    assert desk.take("0") == "Left as it was."
    desk.take("r ov f 15")
    assert desk.take("2") == "Tag 837: added right ovary follicle 15 mm."
    assert "left ovary corpus luteum 22 mm" in desk_view(desk, 80)


def test_a_value_that_fits_another_finding_may_be_meant_for_that_one(desk: Desk) -> None:
    desk.take("837")
    assert "2  Change left ovary corpus luteum 22 mm to left" in desk.take("l ov cl 26")
    assert "became left ovary corpus luteum 26 mm" in desk.take("2")


def test_a_number_that_is_no_answer_answers_nothing(desk: Desk) -> None:
    with pytest.raises(WrongUseError):
        desk.take("26")
    assert desk.visit.open_queries


def test_after_the_questions_come_flags_then_refused_speech(desk: Desk, folder: Path) -> None:
    with Record.amend(folder) as other:
        other.put_right(TagChanged(1, "412"), By("ben"))
        desk.refresh()
        left = agenda(desk.visit, other.flags)
    kinds = []
    for _ in left:
        kinds.append(desk_view(desk, 80).splitlines()[1].split("  ")[0].strip())
        desk.take("")
    assert kinds == ["FLAGGED", "FLAGGED", "ASKED", "LOOK AT"]
    assert "passed over" in desk_view(desk, 80)


def test_refused_speech_is_taken_up(desk: Desk) -> None:
    desk.take("1")
    waiting = [matter.phrase for matter in desk.waiting]
    for _ in range(waiting.index(4)):
        desk.take("/next")
    desk.take("r ov cl 18")
    assert exam(desk, 2).standing[-1].at_s == 40.0


def test_a_phrase_that_was_missed_has_nothing_to_do_with_the_one_looked_at(desk: Desk) -> None:
    asked = desk.matter
    desk.take("/insert tw")
    assert desk.matter == asked
    assert exam(desk, 2).standing[-1].phrase != 5


@pytest.mark.parametrize(
    ("orders", "tags"),
    [
        (["/go 412", "/tag 413"], ["837", "413"]),
        (["/go 412", "/merge 837"], ["412"]),
        (["/go 837 2", "/split"], ["837", None, "412"]),
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
    desk.take("/go 837 2")
    desk.take("/move 412")
    assert "follicle nine" in standing(exam(desk, 2))
    desk.take("/go 837")
    desk.take("/insert tw")
    assert standing(exam(desk, 1))[-1] == "tw"
    desk.take("/go exam 2 4")
    assert "finding 1: pregnant 40 days  ASKED" in desk_view(desk, 80)
    desk.take("/withdraw 1")
    (pregnant,) = (placed.recorded for placed in desk.visit.findings_of(5))
    assert pregnant.state is FindingState.WITHDRAWN


def test_what_was_taken_back_is_done_again(desk: Desk) -> None:
    for order in ("/go 837", "2 24", "/insert tw"):
        desk.take(order)
    done = exam(desk, 1)
    desk.take("/undo")
    desk.take("/undo")
    assert "tw" not in standing(exam(desk, 1))
    for _ in range(2):
        assert desk.take("/redo") == "Done again: what was taken back."
    assert exam(desk, 1) == done
    with pytest.raises(WrongUseError, match="Nothing was taken back"):
        desk.take("/redo")


def test_any_entry_can_be_taken_back_by_the_number_that_is_shown(desk: Desk) -> None:
    for order in ("/go 837", "2 24", "/go 412", "/insert tw", "/go 837"):
        desk.take(order)
    assert "CORRECTED by anna, entry 7" in desk_view(desk, 80)
    assert desk.take("/undo 7") == "Taken back: what anna did."
    desk.take("/go 837")
    assert "corpus luteum 22 mm" in desk_view(desk, 80)
    assert standing(exam(desk, 2))[-1] == "tw"


def test_every_order_has_its_help() -> None:
    assert {line.name for line in LOOKING} == set(MOVES)
    assert {line.name for line in PUTTING_RIGHT} == set(ORDERS)
    assert not set(MOVES) & set(ORDERS)


def test_a_reason_goes_with_the_next_correction_only(desk: Desk) -> None:
    desk.take("/why it rained")
    desk.take("/go 837")
    desk.take("2 24")
    desk.take("2 26")
    assert [deed.why for deed in deeds(desk.visit)] == ["it rained", ""]


def test_the_sound_is_played(desk: Desk, played: Played) -> None:
    assert desk.take("/play") == "Played."
    assert played.names == ["0005.flac"]
    desk.take("/go 837 2")
    with pytest.raises(WrongUseError, match="no sound"):
        desk.take("/play")


def test_an_animal_is_approved_and_what_is_open_is_shown_first(desk: Desk) -> None:
    desk.take("/go 837")
    assert desk.take("/approve") == "Tag 837 is approved."
    told = desk.take("/approve visit")
    assert told.startswith("2 open: tag 412, Pregnant 40 days or pregnant 50 days?; tag 412, 'and")
    assert told.splitlines()[1:] == ["  1  Approve as it is", "  0  leave it as it is"]
    assert not desk.visit.is_approved(2)
    assert desk.take("1") == "The visit is approved, 2 animals, 2 left open."
    assert desk.visit.visit_approved


def test_only_what_is_sure_is_approved_at_once(desk: Desk) -> None:
    assert desk.take("/approve sure") == "Approved: 1 animals that are sure; 1 are left."
    assert [desk.visit.is_approved(number) for number in (1, 2)] == [True, False]
    with pytest.raises(WrongUseError, match="No animal is left"):
        desk.take("/approve sure")


def test_nobody_stands_for_an_animal_that_may_be_another(tmp_path: Path, played: Played) -> None:
    dictated(tmp_path, "cow eight three seven", "open", Unsure("next cow four one two"), "open")
    with Record.amend(tmp_path) as record:
        desk = Desk(record, "anna", played)
        with pytest.raises(WrongUseError, match=r"Not approved\. .*her tag is open"):
            desk.take("/approve visit")
        desk.take("1")
        assert desk.take("/approve visit") == "The visit is approved, 2 animals."


def test_a_stop_is_said_twice_before_anybody_stands_for_her(tmp_path: Path, played: Played) -> None:
    dictated(tmp_path, "cow eight three seven", "pregnant forty days", "give prostaglandin")
    with Record.amend(tmp_path) as record:
        desk = Desk(record, "anna", played)
        desk.take("837")
        with pytest.raises(WrongUseError, match="Not approved"):
            desk.take("/approve")


def test_animals_and_corrections_are_listed(desk: Desk) -> None:
    assert "412          pregnant 40 days             2 open" in desk.take("/list")
    assert desk.take("/done") == "Nothing was corrected yet."
    desk.take("837")
    desk.take("2 24")
    assert "7  anna: left ovary corpus luteum 22 mm became" in desk.take("/done")


def test_what_was_approved_and_changed_since_is_shown_as_such(desk: Desk, folder: Path) -> None:
    desk.take("/go 837")
    desk.take("/approve")
    desk.take("/go 837")
    assert "exam 1  tag 837  approved by anna" in desk_view(desk, 80)
    assert "changed since" not in desk_view(desk, 80)
    with Record.amend(folder) as other:
        other.put_right(TagChanged(1, "838"), By("ben"))
    desk.refresh()
    assert "approved by anna, changed since by ben" in desk_view(desk, 80)


@pytest.mark.parametrize(
    "line",
    ["tractor", "/burn", "/move 999", "/go", "/tag 4a", "scratch that", "9", "/withdraw 7",
     "/merge 412", "next cow", "/undo all", "/undo 2000", "/redo", "/answer 9",
     "9 26", "1 tractor", "/value"],
)  # fmt: skip
def test_what_cannot_be_done_changes_nothing(desk: Desk, line: str) -> None:
    before = desk.visit.last_seq
    with pytest.raises(WrongUseError):
        desk.take(line)
    assert desk.visit.last_seq == before


def test_hostile_words_send_nothing_to_the_terminal(tmp_path: Path, played: Played) -> None:
    bad = "\x1b]0;owned\x07\x1b[2J[red]shut\u202e"
    dictated(tmp_path, "cow eight three seven", Chatter(bad))
    with Record.amend(tmp_path) as record:
        record.put_right(TagChanged(1, bad), By(bad, bad))
        desk = Desk(record, bad, played)
        while desk.matter is not None:
            shown = desk_view(desk, 80, colour=False)
            assert "\x1b" not in shown
            assert "\x07" not in shown
            assert "\u202e" not in shown
            desk.take("")


def test_lines_may_come_from_a_file_and_the_csv_files_follow(folder: Path) -> None:
    lines = "2\n/go 837\n2 24\n/foo\n/quit\nnot reached\n"
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
    assert {deed.who for deed in deeds(folded(folder))} == {"anna"}


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
        child.expect("correct>")
        child.send("0\r")
        child.expect("Tag 412: withdrew pregnant 40 days")
        child.expect("correct>")
        child.send("/go 837 2\r")
        child.expect("HEARD typed")
        child.expect("correct>")
        child.send("l ov c")
        child.expect("corpus")
        child.send("l 24, f 9\r")
        child.expect("became left ovary corpus luteum 24 mm")
        session.type("twins")
        child.expect("correct>")
        child.send("\x1a")
        child.expect("Taken back: what anna did")
        child.expect("correct>")
        child.send("/quit\r")
        child.expect(pexpect.EOF)
        child.close()
        assert child.exitstatus == 0
        session.catch_up()
        assert session.visit == folded(folder)
    visit = folded(folder)
    assert [is_taken_back(visit, deed.seq) for deed in deeds(visit)] == [False, True, False]
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
