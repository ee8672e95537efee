"""What a visit comes to on the page, without a browser."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import numpy as np
import pytest

from dictation.audio.endpoint import Utterance
from dictation.audio.keep import keep_utterance
from dictation.audio.samples import SAMPLE_RATE_HZ
from dictation.decide.people.history import ActLine
from dictation.decide.people.orders import About, order
from dictation.decide.record import Flags, Record
from dictation.errors import BadInputError
from dictation.review.book import Book
from dictation.review.drawing import COLUMNS, strip, waveform
from dictation.review.lines import ExamSheet
from dictation.review.sheet import clock, confidence_words, heading, sheets
from dictation.visit.inputs import (
    By,
    Deed,
    ExamsMerged,
    ExamSplit,
    ExamTaken,
    FindingWithdrawn,
    PhraseMoved,
)
from dictation.visit.state import Visit
from grammar.checks import check_exam
from grammar.exam import FindingState, RecordedFinding
from grammar.findings import Note
from grammar.wording import differing
from tests.decide.spoken import Chatter, Phrase, Unsure, visit_of
from tests.review.written import visit_in

Done = Phrase | tuple[Deed, By]

SPOKEN = (
    Chatter("are we ready"),
    "cow eight three seven",
    "left ovary CL twenty-two, follicle nine",
    Unsure("pregnant forty days", ("pregnant fifty days",)),
    "next cow four one two",
    "open",
    Chatter("shut that gate"),
)


def flags_of(visit: Visit) -> Flags:
    return {exam.number: check_exam(exam) for exam in visit.exams}


def drawn(visit: Visit) -> tuple[ExamSheet, ...]:
    return sheets(visit, flags_of(visit))


def shown(visit: Visit) -> list[tuple[int, list[str]]]:
    return [
        (sheet.number, [f.words for p in sheet.phrases for f in p.findings])
        for sheet in drawn(visit)
    ]


def ordered(*said: Done, name: str, about: About, text: str = "") -> Deed:
    """What a person does to a visit in which this was said and done."""
    return order(visit_of(*said), name, about, text).deed


def changes(visit: Visit, exam: int) -> tuple[ActLine, ...]:
    return next(sheet.acts for sheet in drawn(visit) if sheet.number == exam)


def test_every_phrase_is_on_one_sheet_in_the_order_of_speech() -> None:
    pages = drawn(visit_of(*SPOKEN))
    assert [sheet.number for sheet in pages] == [0, 1, 2]
    numbers = [phrase.phrase for sheet in pages for phrase in sheet.phrases]
    assert numbers == [1, 2, 3, 4, 5, 6, 7]
    doubtful = [p for sheet in pages for p in sheet.phrases if p.doubtful]
    assert [p.confidence for p in doubtful] == ["doubtful 0.50"]
    assert [p.text for s in pages for p in s.phrases if p.refused] == [
        "are we ready",
        "shut that gate",
    ]


@pytest.mark.parametrize(
    ("name", "about", "text", "words"),
    [
        ("phrase", About(1, 3), "l ov cl 24", "left ovary corpus luteum 24 mm"),
        ("insert", About(2), "lov ns", "left ovary not seen"),
        ("insert", About(2, 6), "lov ns", "left ovary not seen"),
        ("phrase", About(2, 7), "lov ns", "left ovary not seen"),
        ("tag", About(2), "413", "tag 413"),
        ("add", About(1), "413", "tag 413"),
    ],
)
def test_what_was_put_right_is_shown_with_who_did_it(
    name: str, about: About, text: str, words: str
) -> None:
    visit = visit_of(*SPOKEN, ordered(*SPOKEN, name=name, about=about, text=text))
    found = [
        (sheet, phrase)
        for sheet in drawn(visit)
        for phrase in sheet.phrases
        for finding in phrase.findings
        if finding.words == words and finding.state == "corrected"
    ]
    assert len(found) == 1
    sheet, phrase = found[0]
    assert phrase.changed
    assert [(line.who, words in line.what) for line in sheet.acts] == [("anna", True)]


@pytest.mark.parametrize(
    "deed", [ExamsMerged(2, 1), ExamSplit(1, 4), PhraseMoved(3, 2), FindingWithdrawn(2)]
)
def test_no_finding_is_lost_from_the_page_whatever_people_do(deed: Deed) -> None:
    before = sorted(words for _, found in shown(visit_of(*SPOKEN)) for words in found)
    after = sorted(words for _, found in shown(visit_of(*SPOKEN, deed)) for words in found)
    assert after == before


def test_what_a_person_typed_in_is_a_phrase_of_its_own_behind_what_was_spoken() -> None:
    missed = ordered(*SPOKEN, name="insert", about=About(1), text="lov ns, follicle nine")
    visit = visit_of(*SPOKEN, missed)
    line = drawn(visit)[1].phrases[-1]
    assert (line.text, line.became, line.clock) == ("lov ns, follicle nine", "typed in", "typed")
    assert (len(line.findings), line.sound) == (2, False)
    about = About(phrase=line.phrase)
    again = ordered(*SPOKEN, missed, name="phrase", about=about, text="lov ns")
    (finding, gone) = drawn(visit_of(*SPOKEN, missed, again))[1].phrases[-1].findings
    assert (finding.state, gone.state) == ("corrected", "withdrawn")


def test_a_tag_that_nobody_said_is_a_line_of_the_entry_that_put_it_there() -> None:
    added = ordered(*SPOKEN, name="add", about=About(1), text="413")
    (line,) = drawn(visit_of(*SPOKEN, added))[2].phrases
    assert (line.phrase, line.text, line.became) == (None, "tag 413", "typed in")


def test_what_came_from_a_file_is_shown_with_its_question_though_nobody_said_it() -> None:
    noted = RecordedFinding(1, Note("lame"), FindingState.ACCEPTED, "note lame", phrase=None)
    taken = ExamTaken(1, "837", None, (noted,), ("Lame on which side?",), "last-week")
    (sheet,) = drawn(visit_of(taken))
    (line,) = sheet.phrases
    assert (line.text, line.became, line.changed) == ("note lame", "from a file", False)
    assert [box.question for box in line.questions] == ["Lame on which side?"]


def test_each_change_of_an_animal_says_from_what_to_what_and_who_took_it_back() -> None:
    changed = ordered(*SPOKEN, name="phrase", about=About(1, 3), text="l ov cl 24, follicle 9")
    why = By("anna", "heard wrongly")
    undone = ordered(*SPOKEN, (changed, why), name="undo", about=About())
    before = visit_of(*SPOKEN, (changed, why))
    visit = visit_of(*SPOKEN, (changed, why), (undone, By("ben")))
    (line,) = changes(before, 1)
    assert line.what.startswith("left ovary corpus luteum 22 mm became left ovary corpus luteum 24")
    assert (line.who, line.why, line.taken_back_by, line.button) == (*why_of(why), "", "Take back")
    first, second = changes(visit, 1)
    assert (first.taken_back_by, first.button) == ("ben", "")
    assert second.what == (
        "took back what anna did;"
        " left ovary corpus luteum 24 mm became left ovary corpus luteum 22 mm"
    )
    assert (second.who, second.button) == ("ben", "Do again")
    again = ordered(*SPOKEN, (changed, why), (undone, By("ben")), name="redo", about=About())
    redone = visit_of(*SPOKEN, (changed, why), (undone, By("ben")), (again, By("carl")))
    assert [line.taken_back_by for line in changes(redone, 1)] == ["", "carl", ""]


def why_of(by: By) -> tuple[str, str]:
    return by.who, by.why


def test_what_was_said_is_a_change_only_where_it_changed_what_was_said_before() -> None:
    said = ("cow eight three seven", "left ovary CL twenty-two", "make that twenty-four")
    (line,) = changes(visit_of(*said), 1)
    assert line.who == "voice"
    assert line.what == (
        "said 'make that twenty-four';"
        " left ovary corpus luteum 22 mm became left ovary corpus luteum 24 mm"
    )
    back = ordered(*said, name="undo", about=About(entry=line.entry))
    assert "left ovary corpus luteum 22 mm" in shown(visit_of(*said, back))[0][1]
    scratched = changes(visit_of(*said, "scratch that"), 1)
    assert "took back 'make that twenty-four'" in scratched[-1].what
    assert scratched[-1].button == "Do again"


def test_a_change_that_was_built_upon_cannot_be_taken_back() -> None:
    first = ordered(*SPOKEN, name="phrase", about=About(1, 3), text="l ov cl 24")
    second = ordered(*SPOKEN, first, name="phrase", about=About(1, 3), text="l ov cl 26")
    lines = changes(visit_of(*SPOKEN, first, second), 1)
    assert [line.button for line in lines] == ["", "Take back"]


def test_an_approval_is_shown_as_long_as_it_holds_and_then_who_changed_what_was_approved() -> None:
    approved = ordered(*SPOKEN, name="approve", about=About(2))
    (sheet,) = (s for s in drawn(visit_of(*SPOKEN, approved)) if s.number == 2)
    assert (sheet.approved, sheet.approval_holds) == (
        "approved by anna, 2026-11-18 09:00 UTC",
        True,
    )
    assert sheet.covers == "2 findings"
    deed = ordered(*SPOKEN, approved, name="tag", about=About(2), text="413")
    changed = (*SPOKEN, approved, (deed, By("ben")))
    sheet = drawn(visit_of(*changed))[2]
    assert sheet.approved == "approved by anna, 2026-11-18 09:00 UTC, changed since by ben"
    assert not sheet.approval_holds
    undone = ordered(*changed, name="undo", about=About())
    assert drawn(visit_of(*changed, undone))[2].approval_holds
    assert drawn(visit_of(*SPOKEN, approved, "next cow nine nine one", "open"))[2].approval_holds


def test_so_is_the_approval_of_the_visit() -> None:
    approved = ordered(*SPOKEN, name="approve", about=About(), text="visit")
    visit = visit_of(*SPOKEN, approved)
    head = heading(visit, flags_of(visit))
    when = "approved by anna, 2026-11-18 09:00 UTC"
    assert (head.approved, head.approval_holds) == (when, True)
    visit = visit_of(*SPOKEN, approved, "twins")
    head = heading(visit, flags_of(visit))
    assert head.approved == f"{when}, changed since by voice"
    assert not head.approval_holds


def test_an_approved_animal_whose_figures_are_reckoned_otherwise_says_both() -> None:
    said = ("cow eight three seven", "pregnant forty days")
    visit = visit_of(*said, ordered(*said, name="approve", about=About(1)))
    (exam,) = visit.exams
    assert exam.approved is not None
    now = exam.approved.age
    assert now.due_date is not None
    earlier = replace(now, due_date=now.due_date - timedelta(days=2))
    kept = replace(exam, approved=replace(exam.approved, age=earlier))
    (sheet,) = drawn(replace(visit, exams=(kept,)))
    told = f"due date {earlier.due_date}, now {now.due_date}"
    assert [told in flag.why for flag in sheet.flags] == [True]
    assert drawn(visit)[0].flags == ()


def test_undo_and_redo_are_offered_where_there_is_such() -> None:
    def offered(*said: Done) -> tuple[str | None, str | None]:
        visit = visit_of(*said)
        head = heading(visit, flags_of(visit))
        return (None if not head.undo else head.undo.who), (
            None if not head.redo else head.redo.who
        )

    tag = ordered(*SPOKEN, name="tag", about=About(2), text="413")
    undone = ordered(*SPOKEN, tag, name="undo", about=About())
    assert offered(*SPOKEN) == (None, None)
    assert offered(*SPOKEN, tag) == ("anna", None)
    assert offered(*SPOKEN, tag, (undone, By("ben"))) == (None, "ben")
    more = ordered(*SPOKEN, tag, (undone, By("ben")), name="tag", about=About(2), text="414")
    assert offered(*SPOKEN, tag, (undone, By("ben")), more) == ("anna", None)


def test_the_heading_lists_what_is_open_the_gravest_first() -> None:
    visit = visit_of(*SPOKEN, "give prostaglandin", Chatter("and on the right"))
    head = heading(visit, flags_of(visit))
    assert (head.animals, head.refused, head.sure) == (2, 2, 0)
    assert [(each.at, each.kind) for each in head.open] == [
        ("phrase-4", "asked"),
        ("phrase-9", "not for us?"),
    ]
    assert head.strip is not None


def test_what_was_said_at_the_end_stands_where_it_was_said() -> None:
    said = ("cow eight three seven", "open", "close visit", Chatter("are we done"))
    (sheet,) = drawn(visit_of(*said))
    assert [phrase.text for phrase in sheet.phrases][-1] == "are we done"


def test_of_two_answers_only_what_differs_is_shown() -> None:
    pieces = differing(["left ovary cl 22 mm, note: lane", "left ovary cl 22 mm, note: lame"])
    assert pieces == ((("note: ", False), ("lane", True)), (("note: ", False), ("lame", True)))


def test_a_typed_visit_has_no_strip() -> None:
    assert strip(visit_of("cow eight three seven", "open"), (), ()) is None


@pytest.mark.parametrize(
    ("confidence", "words"),
    [(1.0, "sure 1.00"), (0.95, "sure 0.95"), (0.94, "likely 0.94"), (0.8, "likely 0.80"),
     (0.79, "doubtful 0.79")],
)  # fmt: skip
def test_confidence_is_a_word_and_a_number(confidence: float, words: str) -> None:
    assert confidence_words(confidence) == words


@pytest.mark.parametrize(
    ("seconds", "words"), [(None, "typed"), (0.0, "0:00"), (61.9, "1:01"), (3725.0, "1:02:05")]
)
def test_moments_are_minutes_and_seconds(seconds: float | None, words: str) -> None:
    assert clock(seconds) == words


def test_a_wave_form_has_a_bar_for_each_part(tmp_path: Path) -> None:
    (tmp_path / "audio").mkdir()
    samples = np.linspace(-0.5, 0.5, 2 * SAMPLE_RATE_HZ, dtype=np.float32)
    picture = waveform(keep_utterance(tmp_path, 1, Utterance(samples, 0.0, 2.0, 1))).decode()
    assert picture.count("M") == COLUMNS
    (tmp_path / "broken.flac").write_bytes(b"no sound at all")
    with pytest.raises(BadInputError):
        waveform(tmp_path / "broken.flac")


def test_only_the_sheet_that_changed_is_drawn_anew(tmp_path: Path) -> None:
    with Record.amend(visit_in(tmp_path, *SPOKEN)) as record:
        book = Book(record)
        seen = book.seq
        deed = FindingWithdrawn(record.visit.exams[1].recorded[-1].number)
        record.put_right(deed, By("anna", based_on=seen))
        book.draw()
        changed = book.changes(seen)["exams"]
        assert isinstance(changed, dict)
        assert list(changed) == [2]
