"""The fold is a pure function: however the events came in, the same visit comes out."""

from __future__ import annotations

import tempfile
from pathlib import Path

from dictation.session.events import (
    Approved,
    Choice,
    Corrected,
    Event,
    Inserted,
    Merged,
    PhraseMoved,
    QueryAnswered,
    Renumbered,
    Split,
    VisitOpened,
    Withdrawn,
)
from dictation.session.fold import fold, step
from dictation.session.journal import Journal
from dictation.session.session import Session
from dictation.session.visit import Visit
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.session.spoken import ON, Chatter, Phrase, Unsure, entries_of, events_of, visit_of

from grammar.findings import Pregnancy, PregnancyStatus
from grammar.parse import parse

SPOKEN: tuple[Phrase, ...] = (
    "cow eight three seven",
    "cow four one two",
    "next",
    "next cow two six oh five",
    "left ovary CL twenty-two, follicle nine",
    "right ovary CL ninety",
    "pregnant forty-five days in the left horn",
    "open",
    "scratch that",
    "make that twenty-four",
    "no, right",
    "correction, left ovary CL eighteen",
    "yes",
    "no",
    "second one",
    "pause",
    "resume",
    "take a note",
    "close",
    "close visit",
    Unsure("next"),
    Unsure("scratch that"),
    Unsure("cow four one two", ("cow four one seven",)),
    Unsure("left ovary CL forty", ("left ovary CL fourteen",)),
    Chatter("did you see the match"),
)
BY_HAND: tuple[Phrase, ...] = (
    Corrected(101, Pregnancy(PregnancyStatus.OPEN), Pregnancy(PregnancyStatus.PREGNANT), "anna"),
    Withdrawn(201, "anna"),
    QueryAnswered("u2", Choice.NONE_OF_THEM, None, "anna"),
    QueryAnswered("u3", Choice.TAKE, 1, "anna"),
    Inserted(1, "twins", parse("twins", ON).said, "anna"),
    PhraseMoved(2, 1, "anna"),
    Merged(2, 1, "anna"),
    Split(1, 3, "anna"),
    Renumbered(1, "900", "anna"),
    Approved(1, "anna"),
)
PHRASES = st.lists(st.sampled_from(SPOKEN + BY_HAND), max_size=25)


def said(visit: Visit) -> list[int]:
    return sorted(r.number for exam in visit.exams for r in exam.recorded)


@settings(max_examples=150, deadline=None)
@given(PHRASES, st.integers(0, 30))
def test_folding_in_two_parts_is_folding_at_once(phrases: list[Phrase], cut: int) -> None:
    entries = entries_of(*phrases)
    assert fold(entries[cut:], fold(entries[:cut])) == fold(entries)


@settings(max_examples=150, deadline=None)
@given(PHRASES)
def test_no_finding_that_was_recorded_is_ever_lost(phrases: list[Phrase]) -> None:
    visit = Visit()
    known: set[int] = set()
    for entry in entries_of(*phrases):
        visit = step(visit, entry)
        assert known <= set(said(visit))
        known = set(said(visit))
        assert len(known) == len(said(visit)), "a finding is in two exams"


@settings(max_examples=150, deadline=None)
@given(PHRASES)
def test_every_utterance_is_on_record_and_every_exam_has_its_own_number(
    phrases: list[Phrase],
) -> None:
    visit = visit_of(*phrases)
    spoken = [p for p in phrases if isinstance(p, str | Unsure | Chatter)]
    assert len(visit.utterances) == len(spoken)
    numbers = [exam.number for exam in visit.exams]
    assert len(set(numbers)) == len(numbers)
    assert visit.in_hand is None or visit.in_hand in numbers
    for exam in visit.exams:
        assert all(other in numbers for other in exam.tag_repeated_in)


@settings(max_examples=12, deadline=None)
@given(PHRASES, st.sets(st.integers(1, 25), max_size=4))
def test_a_journal_closed_and_opened_again_goes_on_as_if_nothing_was(
    phrases: list[Phrase], stops: set[int]
) -> None:
    events = events_of(*phrases)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        session = Session(Journal.write(folder), parse)
        for place, event in enumerate(events):
            if place in stops:
                session.journal.close()
                session = Session(Journal.write(folder), parse)
            session.take(event)
        entries = list(session.journal.entries())
        assert [entry.event for entry in entries] == events
        assert fold(entries) == session.visit
        session.journal.close()


def test_a_person_may_put_anything_right_and_every_change_names_who() -> None:
    visit = visit_of(
        "cow eight three seven",
        "open",
        "next cow four one two",
        "left ovary CL twenty-two",
        Corrected(
            201,
            Pregnancy(PregnancyStatus.OPEN),
            Pregnancy(PregnancyStatus.PREGNANT),
            "anna",
            "misheard",
        ),
        Renumbered(2, "417", "anna"),
        Inserted(2, "twins", parse("twins", ON).said, "anna"),
        PhraseMoved(4, 1, "anna"),
    )
    assert [exam.tag for exam in visit.exams] == ["837", "417"]
    assert Pregnancy(PregnancyStatus.PREGNANT) in visit.exams[0].findings
    assert [r.heard for r in visit.exams[0].standing][-1] == "left ovary cl twenty two"
    assert [r.heard for r in visit.exams[1].standing][-1] == "twins"
    assert {change.who for change in visit.changes} == {"anna"}


def test_two_exams_become_one_and_one_becomes_two() -> None:
    spoken = ("cow eight three seven", "open", "next", "twins")
    merged = visit_of(*spoken, Merged(2, 1, "anna"))
    assert [exam.tag for exam in merged.exams] == ["837"]
    split = visit_of("cow eight three seven", "open", "twins", Split(1, 3, "anna"))
    assert [len(exam.standing) for exam in split.exams] == [2, 1]


def test_an_event_that_names_what_is_not_there_changes_nothing() -> None:
    before = visit_of("cow eight three seven")
    strays: tuple[Event, ...] = (
        Withdrawn(999, "anna"),
        Merged(7, 8, "anna"),
        Renumbered(7, "1", "anna"),
    )
    for stray in strays:
        assert visit_of("cow eight three seven", stray).exams == before.exams


def test_the_first_event_opens_the_visit() -> None:
    assert isinstance(events_of()[0], VisitOpened)
