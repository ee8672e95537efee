"""A phrase with a pause in it: two utterances become one, and both stay on record."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

import numpy as np
import pytest

from dictation.audio.endpoint import Utterance
from dictation.audio.keep import keep_utterance
from dictation.audio.samples import SAMPLE_RATE_HZ, Samples
from dictation.decide.understanding import Understanding
from dictation.live.joining import Joiner, together
from dictation.live.session import Session
from dictation.recognition.protocol import Heard, Hypothesis, Outcome
from dictation.records.glance import IN_A_WORD
from dictation.review.sheet import BECAME
from dictation.visit.apply import fold
from dictation.visit.inputs import PhrasesJoined
from dictation.visit.journal import Journal
from dictation.visit.parts import Fate, QueryState
from grammar.findings import Animal, Ovary, Side, Uterus
from grammar.normalise import normalise
from grammar.parse import parse

DAY = date(2026, 11, 18)
STEP = 0.1


class Script:
    """A recogniser that knows each utterance by its loudness; two together by their sum."""

    name = "script"

    def __init__(self, *phrases: str) -> None:
        self._phrases = phrases
        self.whole: str | None = None

    def recognise(self, samples: Samples) -> Heard:
        levels = sorted({round(float(x) / STEP) for x in samples if x})
        texts = [self._phrases[level - 1] for level in levels]
        text = " ".join(texts) if len(texts) == 1 or self.whole is None else self.whole
        found = Hypothesis(text, normalise(text), (), 0.0, 1)
        return Heard(Outcome.HEARD, (found,), text, confidence=1.0)


def spoken(number: int, at_s: float) -> Utterance:
    samples = np.full(SAMPLE_RATE_HZ, number * STEP, np.float32)
    return Utterance(samples, at_s, at_s + 1.0, number)


def visit_of(
    folder: Path, *phrases: str, pause_s: float = 0.5, whole: str | None = None
) -> Session:
    """The session after these phrases, each a second long, with pauses between."""
    with Journal.write(folder) as journal:
        recogniser = Script(*phrases)
        recogniser.whole = whole
        session = Session(journal, parse, recogniser)
        session.begin(DAY, DAY)
        joiner = Joiner(session, parse)
        at_s = 1.0
        for number in range(1, len(phrases) + 1):
            sound = spoken(number, at_s)
            session.hear(sound)
            joiner.heard(sound)
            at_s += 1.0 + pause_s
        assert fold(journal.acts()) == session.visit
        return session


def findings(session: Session) -> list[object]:
    return [r.finding for exam in session.visit.exams for r in exam.recorded]


def replace_assumed(what: object) -> object:
    """Without whether a unit was spoken."""
    return replace(what, unit_assumed=False) if isinstance(what, Ovary | Uterus) else what


def test_a_size_behind_a_pause_belongs_to_the_corpus_luteum_before_it(tmp_path: Path) -> None:
    session = visit_of(tmp_path, "left ovary", "CL", "twenty-two")
    (found,) = findings(session)
    assert isinstance(found, Ovary)
    assert (found.side, found.size_mm) == (Side.LEFT, 22.0)
    assert [u.fate for u in session.visit.phrases].count(Fate.JOINED) == 2
    assert not session.visit.open_queries


def test_a_tag_behind_a_pause_belongs_to_the_next_animal(tmp_path: Path) -> None:
    session = visit_of(tmp_path, "cow 100 open", "next cow", "four one two")
    assert [exam.tag for exam in session.visit.exams] == ["100", "412"]


def test_a_tag_read_slowly_digit_by_digit_is_one_tag(tmp_path: Path) -> None:
    session = visit_of(tmp_path, "cow 519 open", "four", "one", "two", "pregnant", pause_s=1.4)
    assert [exam.tag for exam in session.visit.exams] == ["519", "412"]
    assert [len(exam.standing) for exam in session.visit.exams] == [2, 2]
    assert not session.visit.open_queries


@pytest.mark.parametrize("before", ["left ovary CL", "right ovary follicle", "pregnant", "CL 22"])
def test_its_digits_are_no_value_of_the_cow_before(tmp_path: Path, before: str) -> None:
    session = visit_of(tmp_path, "cow 519", before, "four", "one", "two", pause_s=1.0)
    assert [exam.tag for exam in session.visit.exams] == ["519", "412"]
    apart = visit_of(tmp_path / "apart", "cow 519", before)
    assert session.visit.exams[0].findings == apart.visit.exams[0].findings


@pytest.mark.parametrize("heads", [("cow 519 open", "next cow"), ("cow 519 open", "cow")])
def test_so_it_is_behind_its_word(tmp_path: Path, heads: tuple[str, ...]) -> None:
    session = visit_of(tmp_path, *heads, "four", "one", "two", pause_s=1.0)
    assert [exam.tag for exam in session.visit.exams] == ["519", "412"]


@pytest.mark.parametrize(
    ("parts", "whole"),
    [
        (("CL left", "twenty-two millimetres"), "CL left twenty-two millimetres"),
        (("big follicle on the right", "eighteen mil"), "big follicle on the right eighteen mil"),
        (("pregnant", "fifty days", "right side"), "pregnant fifty days right side"),
        (("pregnant fifty days", "left horn"), "pregnant fifty days left horn"),
        (("follicle", "nine", "on the left"), "left ovary follicle nine millimetres"),
        (("cloudy fluid in the left horn", "twenty"), "left horn cloudy fluid twenty"),
    ],
)
def test_size_side_and_age_behind_a_pause_belong_to_what_wants_them(
    tmp_path: Path, parts: tuple[str, ...], whole: str
) -> None:
    session = visit_of(tmp_path, "cow 519", *parts, pause_s=1.4)
    found = [r.finding for r in session.visit.exams[0].standing[1:]]
    meant = [s.what for s in parse(whole, DAY).said]
    assert [replace_assumed(f) for f in found] == [replace_assumed(f) for f in meant]
    assert not session.visit.open_queries


@pytest.mark.parametrize("words", ["twenty-two", "right side", "fifty days"])
def test_nothing_is_joined_across_a_cow(tmp_path: Path, words: str) -> None:
    session = visit_of(tmp_path, "cow 519", "left ovary CL, pregnant", "cow 412", words)
    assert (
        session.visit.exams[0].findings
        == visit_of(tmp_path / "apart", "cow 519", "left ovary CL, pregnant")
        .visit.exams[0]
        .findings
    )


@pytest.mark.parametrize(
    ("first", "second"),
    [
        ("left ovary CL 22", "right ovary CL 9"),
        ("cow 412", "open"),
        ("pregnant forty days", "next cow"),
        ("left ovary small follicles", "right"),
    ],
)
def test_two_whole_phrases_stay_two(tmp_path: Path, first: str, second: str) -> None:
    session = visit_of(tmp_path, first, second)
    assert all(u.fate is not Fate.JOINED for u in session.visit.phrases)


def test_after_a_long_pause_nothing_is_joined(tmp_path: Path) -> None:
    session = visit_of(tmp_path, "left ovary", "CL", pause_s=1.7)
    assert all(u.fate is not Fate.JOINED for u in session.visit.phrases)


def test_words_that_differ_when_heard_together_are_asked_about(tmp_path: Path) -> None:
    session = visit_of(tmp_path, "left ovary", "CL forty", whole="left ovary CL fourteen")
    assert session.visit.phrases[-1].fate is Fate.ASKED
    assert session.visit.open_queries


def test_a_short_part_that_cannot_be_heard_alone_is_heard_together(tmp_path: Path) -> None:
    session = visit_of(tmp_path, "left ovary", "tea ell", whole="left ovary CL")
    last = session.visit.phrases[-1]
    assert (last.text, last.fate) == ("left ovary cl", Fate.ASKED)


def test_a_value_that_answers_a_question_is_not_joined_to_what_was_asked(tmp_path: Path) -> None:
    with Journal.write(tmp_path) as journal:
        understanding = Understanding(parse, lambda: session.visit)
        session = Session(journal, understanding, Script("left ovary CL 99", "yes"))
        session.begin(DAY, DAY)
        joiner = Joiner(session, understanding)
        for number, at_s in ((1, 1.0), (2, 2.5)):
            sound = spoken(number, at_s)
            session.hear(sound)
            joiner.heard(sound)
        assert [query.state for query in session.visit.queries] == [QueryState.ANSWERED]
        assert joiner.joined == 0


def test_both_parts_their_sound_and_the_join_stay_in_the_journal(tmp_path: Path) -> None:
    visit_of(tmp_path, "left ovary", "CL twenty-two")
    with Journal.read(tmp_path) as journal:
        ((_, joined),) = journal.evidence(of=PhrasesJoined)
    assert isinstance(joined, PhrasesJoined)
    assert (joined.first, joined.second, joined.into) == (1, 2, 3)
    assert {p.name for p in (tmp_path / "audio").iterdir()} >= {
        "0001.flac",
        "0002.flac",
        "0003.flac",
    }


def test_a_person_between_the_two_keeps_them_apart(tmp_path: Path) -> None:
    with Journal.write(tmp_path) as journal:
        session = Session(journal, parse, Script("left ovary CL", "twenty-two"))
        session.begin(DAY, DAY)
        joiner = Joiner(session, parse)
        for number, at_s in ((1, 1.0), (2, 2.5)):
            sound = spoken(number, at_s)
            if number == 2:
                session.type("cow 412")
            session.hear(sound)
            joiner.heard(sound)
        assert all(u.fate is not Fate.JOINED for u in session.visit.phrases)
        assert any(isinstance(f, Animal) for f in findings(session))


def test_a_crash_between_the_join_and_its_hearing_is_made_good(tmp_path: Path) -> None:
    with Journal.write(tmp_path) as journal:
        session = Session(journal, parse, Script("left ovary CL", "twenty-two"))
        session.begin(DAY, DAY)
        first, second = spoken(1, 1.0), spoken(2, 2.5)
        session.hear(first)
        session.hear(second)
        whole = together(first, second)
        keep_utterance(tmp_path, 3, whole)
        session.take(PhrasesJoined(1, 2, 3, whole.at_s, whole.until_s))
    with Journal.write(tmp_path) as journal:
        session = Session(journal, parse, Script("left ovary CL", "twenty-two"))
        session.recover()
        (found,) = findings(session)
    assert isinstance(found, Ovary)
    assert found.size_mm == 22.0


def test_every_fate_has_its_words_on_screen_and_page() -> None:
    assert set(IN_A_WORD) == set(Fate)
    assert set(BECAME) == set(Fate)
