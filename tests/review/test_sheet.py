"""What a visit comes to on the page, without a browser."""

from __future__ import annotations

from pathlib import Path

import pytest

from dictation.errors import BadInputError
from dictation.review.book import Book
from dictation.review.sheet import clock, confidence_words, heading, sheets
from dictation.review.strip import strip
from dictation.review.waveform import COLUMNS, waveform
from dictation.session.corrections import Corrections
from dictation.session.events import Merged, PhraseMoved, Split, Withdrawn
from dictation.session.visit import Visit
from grammar.checks import check_exam
from tests.bench.long_visit import make_long_visit
from tests.session.spoken import Chatter, Phrase, Unsure, visit_of
from tests.session.test_people_and_undo import inserted, rephrased

SPOKEN: tuple[Phrase, ...] = (
    Chatter("are we ready"),
    "cow eight three seven",
    "left ovary CL twenty-two, follicle nine",
    Unsure("pregnant forty days", ("pregnant fourteen days",)),
    "next cow four one two",
    "open",
    Chatter("shut that gate"),
)


def shown(visit: Visit) -> list[tuple[int, list[str]]]:
    flags = {exam.number: check_exam(exam) for exam in visit.exams}
    return [
        (sheet.number, [f.words for p in sheet.phrases for f in p.findings])
        for sheet in sheets(visit, flags)
    ]


def test_every_phrase_is_on_one_sheet_in_the_order_of_speech() -> None:
    visit = visit_of(*SPOKEN)
    flags = {exam.number: check_exam(exam) for exam in visit.exams}
    pages = sheets(visit, flags)
    assert [sheet.number for sheet in pages] == [0, 1, 2]
    numbers = [phrase.utterance for sheet in pages for phrase in sheet.phrases]
    assert numbers == [1, 2, 3, 4, 5, 6, 7]
    doubtful = [p for sheet in pages for p in sheet.phrases if p.doubtful]
    assert [p.confidence for p in doubtful] == ["doubtful 0.50"]
    assert [p.text for s in pages for p in s.phrases if p.refused] == [
        "are we ready",
        "shut that gate",
    ]


@pytest.mark.parametrize(
    ("deed", "words"),
    [
        (rephrased(3, "l ov cl 24"), "left ovary corpus luteum 24 mm"),
        (inserted(2, "lov ns"), "left ovary not seen"),
        (inserted(2, "lov ns", 7), "left ovary not seen"),
    ],
)
def test_what_was_put_right_is_shown_with_who_did_it(deed: Phrase, words: str) -> None:
    visit = visit_of(*SPOKEN, deed)
    flags = {exam.number: check_exam(exam) for exam in visit.exams}
    pages = sheets(visit, flags)
    found = [
        (sheet, phrase)
        for sheet in pages
        for phrase in sheet.phrases
        for finding in phrase.findings
        if finding.words == words and finding.state == "put right"
    ]
    assert len(found) == 1
    sheet, phrase = found[0]
    assert phrase.changed
    assert [(line.who, words in line.what) for line in sheet.deeds] == [("anna", True)]


@pytest.mark.parametrize(
    "deed", [Merged(2, 1, "anna"), Split(1, 4, "anna"), PhraseMoved(3, 2, "anna"),
             Withdrawn(301, "anna")]
)  # fmt: skip
def test_no_finding_is_lost_from_the_page_whatever_people_do(deed: Phrase) -> None:
    before = sorted(words for _, found in shown(visit_of(*SPOKEN)) for words in found)
    after = sorted(words for _, found in shown(visit_of(*SPOKEN, deed)) for words in found)
    assert after == before


def test_the_heading_counts_what_is_left() -> None:
    visit = visit_of(*SPOKEN)
    flags = {exam.number: check_exam(exam) for exam in visit.exams}
    head = heading(visit, flags)
    grave = sum(f.severity != "note" for each in flags.values() for f in each)
    assert (head.animals, head.refused) == (2, 2)
    assert head.left == 1 + (1 if grave else 0)
    assert head.strip is not None


def test_a_typed_visit_has_no_strip() -> None:
    assert strip(visit_of("cow eight three seven", "open"), {}) is None


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
    make_long_visit(tmp_path, 1)
    picture = waveform(sorted((tmp_path / "audio").iterdir())[0]).decode()
    assert picture.count("M") == COLUMNS
    (tmp_path / "broken.flac").write_bytes(b"no sound at all")
    with pytest.raises(BadInputError):
        waveform(tmp_path / "broken.flac")


def test_only_the_sheet_that_changed_is_drawn_anew(tmp_path: Path) -> None:
    make_long_visit(tmp_path, 4)
    with Corrections(tmp_path) as corrections:
        book = Book(corrections)
        seen = book.seq
        deed = Withdrawn(corrections.visit.exams[1].recorded[-1].number, "anna")
        corrections.put(deed, seen)
        book.draw()
        changed = book.changes(seen)["exams"]
        assert isinstance(changed, dict)
        assert list(changed) == [2]
