"""Two writers at one visit: a recording session and people's corrections. Nothing is lost."""

from __future__ import annotations

import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest

from dictation.decide.people.orders import About, order
from dictation.decide.record import ChangedMeanwhileError, Flags, Record
from dictation.errors import BadInputError, WrongUseError
from dictation.live.session import Session
from dictation.visit.apply import fold
from dictation.visit.facts import FindingSet, VisitOpened
from dictation.visit.inputs import (
    PEOPLES,
    By,
    Choice,
    Deed,
    EntryTakenBack,
    ExamAdded,
    ExamApproved,
    ExamsMerged,
    ExamSplit,
    FindingChanged,
    FindingWithdrawn,
    Noted,
    PhraseMoved,
    QueryAnswered,
    TagChanged,
)
from dictation.visit.journal import Journal
from dictation.visit.state import Act, Visit
from grammar.parse import parse
from tests.decide.spoken import ON, Chatter, Unsure, given_of, standing
from tests.decide.test_people_and_undo import inserted, ovary, rephrased

ANNA, BEN = By("anna"), By("ben")

SPOKEN = (
    "cow eight three seven",
    "left ovary CL twenty-two, follicle nine",
    Unsure("pregnant forty days", ("pregnant fifty days",)),
    "next cow four one two",
    "open",
    Chatter("shut that gate"),
    "right ovary follicle sixteen",
)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    with Record(Journal.write(tmp_path)) as record:
        record.take(Noted(VisitOpened(ON)))
        for phrase in SPOKEN:
            record.take(given_of(record.visit, phrase))
    return tmp_path


NOW_24 = FindingChanged(2, ovary("l ov cl 22"), ovary("l ov cl 24"))


def seen_by(desk: Record, who: By) -> By:
    """Somebody who has seen all that is at their desk."""
    return replace(who, based_on=desk.visit.last_seq)


def peoples(visit: Visit) -> list[Act]:
    """What people did, in that order."""
    return [visit.acts[seq] for seq in sorted(visit.acts) if visit.acts[seq].kind in PEOPLES]


def folded(folder: Path) -> Visit:
    with Journal.read(folder) as journal:
        return fold(journal.acts())


def test_a_correction_comes_in_while_another_process_records(folder: Path) -> None:
    speak = (
        "import sys; from pathlib import Path\n"
        "from dictation.live.session import Session\n"
        "from dictation.visit.journal import Journal\n"
        "from grammar.parse import parse\n"
        "journal = Journal.write(Path(sys.argv[1])); session = Session(journal, parse)\n"
        "print('listening', flush=True)\n"
        "for line in sys.stdin:\n"
        "    session.type(line.strip())\n"
        "    exam = session.visit.exam(1)\n"
        "    print([r.finding.size_mm for r in exam.standing if r.number == 2], flush=True)\n"
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
    with Record.amend(folder) as desk:
        assert say("left ovary CL twenty") == "[22.0]"
        desk.put_right(NOW_24, seen_by(desk, ANNA))
        assert say("twins") == "[24.0]"
        assert desk.catch_up()
        assert standing(desk.visit.exam(2))[-2:] == ["left ovary cl twenty", "twins"]
        seen = desk.visit
    process.communicate("")
    assert process.returncode == 0
    after = folded(folder)
    assert after.exams == seen.exams
    assert [act.who for act in peoples(after)] == ["anna"]
    assert sorted(after.acts) == list(range(1, len(after.acts) + 1))


def test_many_writers_at_once_lose_no_event(folder: Path) -> None:
    write = (
        "import sys; from pathlib import Path\n"
        "from dictation.decide.record import Record\n"
        "from dictation.visit.inputs import By, TagChanged\n"
        "desk = Record.amend(Path(sys.argv[1]))\n"
        "for turn in range(15):\n"
        "    desk.catch_up()\n"
        "    exam = int(sys.argv[2])\n"
        "    by = By('anna', based_on=desk.visit.last_seq)\n"
        "    desk.put_right(TagChanged(exam, f'{exam}{turn:02d}'), by)\n"
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


CONFLICTS: dict[str, tuple[Deed, Deed]] = {
    "one finding, two values": (NOW_24, rephrased(2, "l ov cl 26")),
    "withdrawn and corrected": (FindingWithdrawn(2), NOW_24),
    "one query, two answers": (
        QueryAnswered("u3", Choice.TAKE, 1),
        QueryAnswered("u3", Choice.TAKE, 2),
    ),
    "moved and rephrased": (PhraseMoved(2, 2), rephrased(2, "l ov cl 24")),
    "merged and renumbered": (ExamsMerged(2, 1), TagChanged(2, "413")),
    "two tags": (TagChanged(2, "417"), TagChanged(2, "413")),
    "split where it was corrected": (NOW_24, ExamSplit(1, 2)),
    "speech taken up twice": (inserted(2, "lov ns", 6), inserted(1, "lov ns", 6)),
    "approved what was changed": (NOW_24, ExamApproved(1)),
    "whole visit approved": (ExamAdded(1, "555"), ExamApproved(None)),
    "merged an animal that is gone": (ExamsMerged(2, 1), ExamsMerged(1, 2)),
}


@pytest.mark.parametrize("conflict", CONFLICTS)
def test_the_second_of_two_reviewers_is_told_and_changes_nothing(
    folder: Path, conflict: str
) -> None:
    first, second = CONFLICTS[conflict]
    with Record.amend(folder) as ben, Record.amend(folder) as anna:
        seen = seen_by(anna, ANNA)
        ben.put_right(first, seen_by(ben, BEN))
        with pytest.raises(ChangedMeanwhileError, match=r"by ben; nothing of yours"):
            anna.put_right(second, seen)
        assert anna.visit == ben.visit == folded(folder)


def test_of_sixty_values_typed_by_two_at_once_each_is_done_or_told(folder: Path) -> None:
    """Each pair looks at the same state: one is done, the other is told, and neither is lost."""
    with Record.amend(folder) as ben, Record.amend(folder) as anna:
        done = told = 0
        for size in range(10, 40):
            anna.catch_up()
            ben.catch_up()
            both = ((ben, seen_by(ben, BEN)), (anna, seen_by(anna, ANNA)))
            for place, (record, by) in enumerate(both if size % 2 else reversed(both)):
                wanted = order(record.visit, "value", About(finding=2), str(2 * size + place))
                try:
                    record.put_right(wanted.deed, by)
                    done += 1
                except ChangedMeanwhileError:
                    told += 1
        assert (done, told) == (30, 30)
        assert [act.who for act in peoples(folded(folder))].count("anna") == 15


def test_the_same_thing_may_be_done_once_it_was_seen_again(folder: Path) -> None:
    with Record.amend(folder) as ben, Record.amend(folder) as anna:
        ben.put_right(NOW_24, seen_by(ben, BEN))
        anna.catch_up()
        anna.put_right(rephrased(2, "l ov cl 26"), seen_by(anna, ANNA))
        assert [act.who for act in peoples(anna.visit)] == ["ben", "anna"]


def test_two_reviewers_at_different_animals_do_not_disturb_each_other(folder: Path) -> None:
    with Record.amend(folder) as ben, Record.amend(folder) as anna:
        seen = seen_by(anna, ANNA)
        ben.put_right(NOW_24, seen_by(ben, BEN))
        anna.put_right(TagChanged(2, "413"), seen)
        anna.put_right(ExamApproved(2), seen_by(anna, ANNA))
        assert [exam.number for exam in anna.visit.exams if exam.approved] == [2]


def test_more_speech_of_an_animal_does_not_stop_a_correction_of_what_was_said(
    folder: Path,
) -> None:
    with Record.amend(folder) as desk, Journal.write(folder) as journal:
        seen = seen_by(desk, ANNA)
        session = Session(journal, parse)
        session.type("left ovary CL twenty")
        desk.put_right(TagChanged(2, "413"), seen)
        with pytest.raises(ChangedMeanwhileError):
            desk.put_right(ExamApproved(2), seen)


@pytest.mark.parametrize(
    "nothing",
    [
        FindingWithdrawn(999),
        PhraseMoved(2, 1),
        PhraseMoved(2, 9),
        ExamsMerged(1, 1),
        ExamSplit(1, 1),
        QueryAnswered("u3", Choice.TAKE, 7),
        EntryTakenBack(1),
    ],
)
def test_what_would_change_nothing_is_refused_and_not_written(folder: Path, nothing: Deed) -> None:
    with Record.amend(folder) as desk:
        before = desk.visit.last_seq
        with pytest.raises(WrongUseError):
            desk.put_right(nothing, seen_by(desk, ANNA))
        assert folded(folder).last_seq == before


def test_each_correction_says_who_made_it_why_and_what_it_found(folder: Path) -> None:
    with Record.amend(folder) as desk:
        before = desk.visit.placed(2)
        (step,) = desk.put_right(NOW_24, replace(seen_by(desk, BEN), why="said twenty-four"))
    with Journal.read(folder) as journal:
        last = list(journal.acts())[-1]
        assert dict(journal.evidence())[last.seq] == NOW_24
    assert last == step.act
    assert (last.who, last.why) == ("ben", "said twenty-four")
    (changed,) = last.facts
    assert isinstance(changed, FindingSet)
    assert changed.was == before


def test_the_files_are_written_on_opening_and_after_each_correction(folder: Path) -> None:
    written: list[int] = []

    def write(visit: Visit, flags: Flags) -> None:
        assert set(flags) == {exam.number for exam in visit.exams}
        written.append(visit.last_seq)

    with Record.amend(folder, write) as desk:
        desk.put_right(NOW_24, seen_by(desk, BEN))
    assert written == [len(SPOKEN) + 1, len(SPOKEN) + 2]


def test_there_must_be_a_visit(tmp_path: Path) -> None:
    with pytest.raises(BadInputError, match="holds no visit"):
        Record.amend(tmp_path)
