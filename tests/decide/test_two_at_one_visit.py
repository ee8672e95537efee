"""Two writers at one visit: a recording session and people's corrections. Nothing is lost."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest
from dictation.session.corrections import ChangedMeanwhileError, Corrections
from dictation.session.events import (
    Approved,
    Choice,
    Corrected,
    Correction,
    Merged,
    PhraseMoved,
    QueryAnswered,
    Renumbered,
    Split,
    Withdrawn,
)
from dictation.session.fold import fold
from dictation.session.happenings import Flags
from dictation.session.journal import Journal
from dictation.session.review_events import ExamAdded, Undone
from dictation.session.session import Session
from dictation.session.visit import Visit
from tests.session.test_people_and_undo import inserted, ovary, rephrased

from dictation.errors import BadInputError, WrongUseError
from grammar.parse import parse
from tests.decide.spoken import Chatter, Unsure, entries_of, standing

SPOKEN = (
    "cow eight three seven",
    "left ovary CL twenty-two, follicle nine",
    Unsure("pregnant forty days", ("pregnant fourteen days",)),
    "next cow four one two",
    "open",
    Chatter("shut that gate"),
    "right ovary follicle sixteen",
)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    with Journal.write(tmp_path) as journal:
        for entry in entries_of(*SPOKEN):
            journal.append(entry.event)
    return tmp_path


def folded(folder: Path) -> Visit:
    with Journal.read(folder) as journal:
        return fold(journal.entries())


def test_a_correction_comes_in_while_another_process_records(folder: Path) -> None:
    speak = (
        "import sys; from pathlib import Path\n"
        "from dictation.session.journal import Journal\n"
        "from dictation.session.session import Session\n"
        "from grammar.parse import parse\n"
        "journal = Journal.write(Path(sys.argv[1])); session = Session(journal, parse)\n"
        "print('listening', flush=True)\n"
        "for line in sys.stdin:\n"
        "    session.type(line.strip())\n"
        "    exam = session.visit.exam(1)\n"
        "    print([r.finding.size_mm for r in exam.standing if r.number == 201], flush=True)\n"
        "journal.close()\n"
    )
    process = subprocess.Popen(
        [sys.executable, "-c", speak, str(folder)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    assert process.stdin is not None
    assert process.stdout is not None

    def say(phrase: str) -> str:
        assert process.stdin is not None
        assert process.stdout is not None
        print(phrase, file=process.stdin, flush=True)
        return process.stdout.readline().strip()

    assert process.stdout.readline() == "listening\n"
    with Corrections(folder) as desk:
        assert say("left ovary CL twenty") == "[22.0]"
        now = Corrected(201, ovary("l ov cl 22"), ovary("l ov cl 24"), "anna")
        desk.put(now, desk.visit.last_seq)
        assert say("twins") == "[24.0]"
        assert desk.refresh()
        assert standing(desk.visit.exam(2))[-2:] == ["left ovary cl twenty", "twins"]
        seen = desk.visit
    process.communicate("")
    assert process.returncode == 0
    after = folded(folder)
    assert after.exams == seen.exams
    assert [deed.who for deed in after.deeds] == ["anna"]
    with Journal.read(folder) as journal:
        numbers = [entry.seq for entry in journal.entries()]
    assert numbers == list(range(1, len(numbers) + 1))


def test_many_writers_at_once_lose_no_event(folder: Path) -> None:
    write = (
        "import sys; from pathlib import Path\n"
        "from dictation.session.corrections import Corrections\n"
        "from dictation.session.events import Renumbered\n"
        "desk = Corrections(Path(sys.argv[1]))\n"
        "for turn in range(15):\n"
        "    desk.refresh()\n"
        "    exam = int(sys.argv[2])\n"
        "    desk.put(Renumbered(exam, f'{exam}{turn:02d}', 'anna'), desk.visit.last_seq)\n"
    )
    writers = [
        subprocess.Popen([sys.executable, "-c", write, str(folder), exam]) for exam in ("1", "2")
    ]
    with Journal.write(folder) as journal:
        session = Session(journal, parse)
        for _ in range(15):
            session.type("left ovary CL twenty")
        assert [writer.wait() for writer in writers] == [0, 0]
        session.catch_up()
        assert session.visit == folded(folder)
    visit = folded(folder)
    assert visit.last_seq == len(SPOKEN) + 1 + 45
    assert [exam.tag for exam in visit.exams] == ["114", "214"]
    assert standing(visit.exams[1]).count("left ovary cl twenty") == 15


def now_24() -> Corrected:
    return Corrected(201, ovary("l ov cl 22"), ovary("l ov cl 24"), "ben")


CONFLICTS: dict[str, tuple[Correction, Correction]] = {
    "one finding, two values": (now_24(), rephrased(2, "l ov cl 26")),
    "withdrawn and corrected": (Withdrawn(201, "ben"), now_24()),
    "one query, two answers": (
        QueryAnswered("u3", Choice.TAKE, 1, "ben"),
        QueryAnswered("u3", Choice.TAKE, 2, "anna"),
    ),
    "moved and rephrased": (PhraseMoved(2, 2, "ben"), rephrased(2, "l ov cl 24")),
    "merged and renumbered": (Merged(2, 1, "ben"), Renumbered(2, "413", "anna")),
    "two tags": (Renumbered(2, "417", "ben"), Renumbered(2, "413", "anna")),
    "split where it was corrected": (now_24(), Split(1, 2, "anna")),
    "speech taken up twice": (inserted(2, "lov ns", 6), inserted(1, "lov ns", 6)),
    "approved what was changed": (now_24(), Approved(1, "anna")),
    "whole visit approved": (ExamAdded(1, "555", "ben"), Approved(None, "anna")),
    "merged an animal that is gone": (Merged(2, 1, "ben"), Merged(1, 2, "anna")),
}


@pytest.mark.parametrize("conflict", CONFLICTS)
def test_the_second_of_two_reviewers_is_told_and_changes_nothing(
    folder: Path, conflict: str
) -> None:
    first, second = CONFLICTS[conflict]
    with Corrections(folder) as ben, Corrections(folder) as anna:
        seen = anna.visit.last_seq
        ben.put(first, ben.visit.last_seq)
        with pytest.raises(ChangedMeanwhileError, match=r"by (anna|ben); nothing of yours"):
            anna.put(second, seen)
        assert anna.visit == ben.visit == folded(folder)


def test_the_same_thing_may_be_done_once_it_was_seen_again(folder: Path) -> None:
    with Corrections(folder) as ben, Corrections(folder) as anna:
        ben.put(now_24(), ben.visit.last_seq)
        anna.refresh()
        anna.put(rephrased(2, "l ov cl 26"), anna.visit.last_seq)
        assert [change.who for change in anna.visit.changes][:2] == ["ben", "anna"]


def test_two_reviewers_at_different_animals_do_not_disturb_each_other(folder: Path) -> None:
    with Corrections(folder) as ben, Corrections(folder) as anna:
        seen = anna.visit.last_seq
        ben.put(now_24(), ben.visit.last_seq)
        anna.put(Renumbered(2, "413", "anna"), seen)
        anna.put(Approved(2, "anna"), anna.visit.last_seq)
        assert anna.visit.approved == (2,)


def test_more_speech_of_an_animal_does_not_stop_a_correction_of_what_was_said(
    folder: Path,
) -> None:
    with Corrections(folder) as desk, Journal.write(folder) as journal:
        seen = desk.visit.last_seq
        session = Session(journal, parse)
        session.type("left ovary CL twenty")
        desk.put(Renumbered(2, "413", "anna"), seen)
        with pytest.raises(ChangedMeanwhileError):
            desk.put(Approved(2, "anna"), seen)


@pytest.mark.parametrize(
    "nothing",
    [
        Withdrawn(999, "anna"),
        PhraseMoved(2, 1, "anna"),
        PhraseMoved(2, 9, "anna"),
        Merged(1, 1, "anna"),
        Split(1, 1, "anna"),
        QueryAnswered("u3", Choice.TAKE, 7, "anna"),
        Undone(2, "anna"),
    ],
)
def test_what_would_change_nothing_is_refused_and_not_written(
    folder: Path, nothing: Correction
) -> None:
    with Corrections(folder) as desk:
        before = desk.visit.last_seq
        with pytest.raises(WrongUseError):
            desk.put(nothing, before)
        assert folded(folder).last_seq == before


def test_each_correction_says_what_its_author_had_seen(folder: Path) -> None:
    with Corrections(folder) as desk:
        seen = desk.visit.last_seq
        entry = desk.put(now_24(), seen)
    with Journal.read(folder) as journal:
        last = list(journal.entries())[-1]
    assert last == entry
    assert isinstance(last.event, Corrected)
    assert (last.event.based_on, last.event.who) == (seen, "ben")


def test_the_files_are_written_after_each_correction(folder: Path) -> None:
    written: list[int] = []

    def write(visit: Visit, flags: Flags) -> None:
        assert set(flags) == {exam.number for exam in visit.exams}
        written.append(visit.last_seq)

    with Corrections(folder, write) as desk:
        desk.put(now_24(), desk.visit.last_seq)
    assert written == [len(SPOKEN) + 2]


def test_there_must_be_a_visit(tmp_path: Path) -> None:
    with pytest.raises(BadInputError, match="holds no visit"):
        Corrections(tmp_path)
