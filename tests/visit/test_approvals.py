"""Who approves stands for what was seen: the figures stay, and what is otherwise now is shown."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

import grammar.checks
from dictation.decide import change
from dictation.decide.conflicts import changed_since_approved
from dictation.decide.desk import this_version
from dictation.decide.record import Record
from dictation.records.exam_rows import EXAMS_HEADER, exam_row
from dictation.visit.apply import fold
from dictation.visit.facts import HerdListed, VisitOpened
from dictation.visit.inputs import (
    By,
    Choice,
    Deed,
    EntryTakenBack,
    ExamApproved,
    FindingWithdrawn,
    Noted,
    QueryAnswered,
    TagChanged,
)
from dictation.visit.journal import Journal
from dictation.visit.state import Visit
from dictation.visit.words import digest_of
from grammar.checks import Rule, check_exam
from grammar.dating.gestation import GestationLength, gestation_length
from grammar.exam import Exam, Flag, KnownAnimal, Severity
from grammar.facts import ExamFacts, facts_of
from grammar.summary import reckoned, summarise_age
from tests.decide.spoken import ON, Phrase, Unsure, come_in, visit_of

BOTH: tuple[Phrase, ...] = (
    "cow eight three seven",
    "pregnant forty-five days",
    "left ovary CL forty",
    "next cow four one two",
    "pregnant forty days",
)
"""Entries 2 to 6 of a visit: two animals of which a due date is reckoned."""

ANNA, BEN = By("anna"), By("ben")


def exam_of(visit: Visit, number: int) -> Exam:
    exam = visit.exam(number)
    assert exam is not None
    return exam


def written_in(folder: Path, *said: Phrase | tuple[Deed, By]) -> Visit:
    with Record(Journal.write(folder)) as record:
        record.take(Noted(VisitOpened(ON)))
        for each in said:
            given, by = come_in(record.visit, each)
            record.take(given, by)
        return record.visit


def read_from(folder: Path) -> Visit:
    with Journal.read(folder) as journal:
        return fold(journal.acts())


def rules_of(exam: Exam) -> list[str]:
    return [flag.rule for flag in check_exam(exam)]


def cell(exam: Exam, column: str) -> str:
    return str(dict(zip(EXAMS_HEADER, exam_row(exam, check_exam(exam)), strict=True))[column])


def test_an_approval_carries_what_was_seen_and_the_figures_of_then() -> None:
    before = visit_of(*BOTH)
    visit = visit_of(*BOTH, (ExamApproved(1), ANNA))
    approval = visit.approval(1)
    assert approval is not None
    assert approval.seen == before.last_seq
    assert approval.digest == digest_of(exam_of(before, 1), check_exam(exam_of(before, 1)))
    assert approval.stamp.who == "anna"
    assert approval.stamp.version == this_version()
    assert approval.stamp.flags == check_exam(exam_of(before, 1)) != ()
    assert approval.stamp.age == summarise_age(exam_of(before, 1))
    assert approval.stamp.age.due_date is not None
    assert exam_of(visit, 1).approved == approval.stamp
    assert not visit.is_approved(2)


@pytest.mark.parametrize(
    ("later", "who"),
    [
        ("cow eight three seven, open", "voice"),
        ((FindingWithdrawn(2), BEN), "ben"),
        ((TagChanged(1, "838"), BEN), "ben"),
    ],
)
def test_what_changed_since_is_told_with_who_did_it(
    later: Phrase | tuple[Deed, By], who: str
) -> None:
    said = (*BOTH[:3], (ExamApproved(1), ANNA))
    assert changed_since_approved(visit_of(*said), 1) == ()
    visit = visit_of(*said, later)
    assert not visit.is_approved(1)
    assert visit.approval(1) is not None
    assert changed_since_approved(visit, 1) == (who,)


def test_a_question_raised_and_answered_otherwise_counts_as_a_change() -> None:
    doubt = Unsure("right ovary CL forty", ("right ovary CL fourteen",))
    said = (*BOTH[:3], doubt, (ExamApproved(1), ANNA))
    assert visit_of(*said).is_approved(1)
    assert not visit_of(*said, (QueryAnswered("u4", Choice.TAKE, 1), BEN)).is_approved(1)


def test_what_changed_and_was_taken_back_is_approved_as_before() -> None:
    said = (*BOTH, (ExamApproved(None), ANNA))
    approved = visit_of(*said)
    back = visit_of(*said, (FindingWithdrawn(2), BEN), (EntryTakenBack(8), BEN))
    assert back.visit_approved
    assert [e.approved for e in back.exams] == [e.approved for e in approved.exams]


def test_one_animal_changed_leaves_the_visit_not_approved() -> None:
    said = (*BOTH, (ExamApproved(None), ANNA))
    assert visit_of(*said).visit_approved
    visit = visit_of(*said, (FindingWithdrawn(2), BEN))
    assert not visit.visit_approved
    assert [visit.is_approved(n) for n in (1, 2)] == [False, True]


def longer(*of_her: Any) -> GestationLength:
    length = gestation_length(*of_her)
    return replace(length, mean_days=length.mean_days + 6)


def test_a_table_changed_later_leaves_what_was_approved_and_says_what_is_otherwise(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    then = written_in(tmp_path, *BOTH, (ExamApproved(1), ANNA))
    due = {n: cell(exam_of(then, n), "due_date") for n in (1, 2)}
    monkeypatch.setattr("grammar.summary.gestation_length", longer)
    visit = read_from(tmp_path)
    assert visit == then
    approved, other = exam_of(visit, 1), exam_of(visit, 2)
    assert cell(approved, "due_date") == due[1]
    assert cell(other, "due_date") != due[2]
    (flag,) = (f for f in check_exam(approved) if f.rule == "reckoned_otherwise")
    assert flag.severity is Severity.NOTE
    assert due[1] in flag.why
    assert "Approved by anna" in flag.why
    assert approved.approved is not None
    now = reckoned_now(approved)
    assert dict(flag.figures)["due_date"] == f"{due[1]} / {now}"
    assert "reckoned_otherwise" not in rules_of(other)


def reckoned_now(exam: Exam) -> str:
    return str(reckoned(facts_of(replace(exam, approved=None))).due_date)


def test_a_rule_that_is_gone_leaves_its_flag_with_what_was_approved(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    then = written_in(tmp_path, *BOTH, (ExamApproved(1), ANNA))
    flagged = cell(exam_of(then, 1), "flags")
    assert flagged
    rules = rules_of(exam_of(then, 1))
    monkeypatch.setattr(grammar.checks, "RULES", ())
    exam = exam_of(read_from(tmp_path), 1)
    assert rules_of(exam) == [*rules, "reckoned_otherwise"]
    assert "no longer raised" in check_exam(exam)[-1].why
    assert cell(exam, "flags") == flagged


def test_a_rule_that_is_new_comes_beside_what_was_approved(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    then = written_in(tmp_path, *BOTH, (ExamApproved(1), ANNA))
    rules, flagged = rules_of(exam_of(then, 1)), cell(exam_of(then, 1), "flags")

    class New:
        """Raised on every animal."""

        about = frozenset[type]()

        def find(self, facts: ExamFacts) -> list[None]:
            return [None]

        def flag(self, raised: object, facts: ExamFacts) -> Flag:
            return Flag("new", Severity.QUERY, "It is new.", "common practice, no source")

    both: tuple[Rule | New, ...] = (*grammar.checks.RULES, New())
    monkeypatch.setattr(grammar.checks, "RULES", both)
    exam = exam_of(read_from(tmp_path), 1)
    assert exam.approved is not None
    assert rules_of(exam) == [*rules, "new"]
    assert cell(exam, "flags") == flagged


def test_another_herd_list_leaves_what_was_approved(tmp_path: Path) -> None:
    listed = HerdListed("d" * 64, "farm.csv", (KnownAnimal("837", breed="Brown Swiss"),))
    then = written_in(tmp_path, *BOTH, (ExamApproved(1), ANNA))
    visit = written_in(tmp_path / "more", *BOTH, (ExamApproved(1), ANNA), listed)
    assert cell(exam_of(visit, 1), "due_date") == cell(exam_of(then, 1), "due_date")
    assert "reckoned_otherwise" in rules_of(exam_of(visit, 1))


def test_a_constant_changed_later_changes_nothing_of_a_visit_that_was_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    said = ("cow eight three seven", "left ovary CL twenty-two", "make that thirty")
    then = written_in(tmp_path, *said)
    with Journal.read(tmp_path) as journal:
        dumped = journal.dump()
    assert not then.open_queries
    monkeypatch.setattr(change, "UNLIKE_FACTOR", 1.1)
    assert visit_of(*said).open_queries, "said today, it would be asked about"
    assert read_from(tmp_path) == then
    with Record.amend(tmp_path) as record:
        assert record.visit == then
        assert record.journal.dump() == dumped
