"""What somebody stands for stays as it was seen, whatever a later version reckons."""

from __future__ import annotations

import pytest

import grammar.checks
from dictation.decide import decide
from dictation.records.ahead import ahead_of
from dictation.records.visit_files import exams_csv, findings_csv
from dictation.visit.apply import apply, fold
from dictation.visit.inputs import By, Deed, ExamApproved, FindingWithdrawn
from dictation.visit.state import Visit
from grammar.dating import gestation
from tests.decide.spoken import Phrase, Unsure
from tests.records.visits import OPENED, acts_at, flags_of, heard

SAID: tuple[Phrase, ...] = (
    "cow eight three seven",
    "pregnant forty-five days, right horn",
    "left ovary small follicles",
    "prostaglandin",
)
"""Findings 1 to 4; a treatment that would end the pregnancy."""


@pytest.fixture
def another_version(monkeypatch: pytest.MonkeyPatch) -> None:
    """A version with other gestation lengths and no rules at all."""
    monkeypatch.setitem(gestation.BREEDS, "holstein", gestation.BreedRow(300, 300, 1.0, "none"))
    monkeypatch.setattr(grammar.checks, "RULES", ())


def row(visit: Visit) -> bytes:
    return exams_csv(visit.exams, flags_of(visit))


def done(visit: Visit, deed: Deed) -> Visit:
    for fact in decide(visit, deed, By("anna")):
        visit = apply(visit, fact)
    return visit


def test_an_exam_is_written_as_before_when_it_is_approved() -> None:
    assert row(heard(*SAID, ExamApproved(1))) == row(heard(*SAID))
    assert b"stop: " in row(heard(*SAID))


def test_an_approved_exam_keeps_flags_and_dates_when_another_version_reckons_otherwise(
    request: pytest.FixtureRequest,
) -> None:
    acts, drafted = acts_at(OPENED, *SAID, ExamApproved(1)), acts_at(OPENED, *SAID)
    before, found = row(fold(acts)), findings_csv(fold(acts).exams)
    ahead = ahead_of(fold(acts).exams[0])
    request.getfixturevalue("another_version")
    approved, draft = fold(acts), fold(drafted)
    assert row(approved) == before
    assert row(draft) != before
    assert b"stop: " not in row(draft)
    assert findings_csv(approved.exams) == findings_csv(draft.exams) == found
    assert ahead_of(approved.exams[0]) == ahead
    assert ahead_of(draft.exams[0]) != ahead


def test_the_whole_visit_is_approved_exam_by_exam(request: pytest.FixtureRequest) -> None:
    acts = acts_at(OPENED, *SAID, "next cow four one two", "open", ExamApproved(None))
    before = row(fold(acts))
    request.getfixturevalue("another_version")
    assert row(fold(acts)) == before


def test_after_a_change_it_is_reckoned_anew_and_taking_that_back_brings_the_figures_back(
    request: pytest.FixtureRequest,
) -> None:
    acts, drafted = acts_at(OPENED, *SAID, ExamApproved(1)), acts_at(OPENED, *SAID)
    before = row(fold(acts))
    request.getfixturevalue("another_version")
    changed = done(fold(acts), FindingWithdrawn(3))
    assert row(changed) == row(done(fold(drafted), FindingWithdrawn(3)))
    assert not changed.is_approved(1)
    again = done(changed, ExamApproved(1))
    assert row(again) == row(changed) != before


def test_figures_that_rest_on_a_doubt_are_not_passed_on_though_they_were_approved() -> None:
    doubtful = Unsure("crown rump thirty millimetres", ("crown rump thirteen millimetres",))
    said: tuple[Phrase, ...] = ("cow eight three seven", "pregnant", doubtful)
    approved = heard(*said, ExamApproved(1))
    assert approved.is_approved(1)
    assert ahead_of(approved.exams[0]) == ahead_of(heard(*said).exams[0])
