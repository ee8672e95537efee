"""What counts as right, wrong, asked and lost."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import binomtest

from dictation.archive.values import compare
from dictation.audio.samples import Samples
from dictation.recognition.protocol import Heard, Hypothesis, Outcome
from dictation.visit.parts import Fate
from grammar.findings import Command, Finding
from grammar.parse import parse
from tests.bench.hearing import Row as BenchRow
from tests.bench.hearing import Taken, row_of
from tests.bench.intervals import Share, per_hour
from tests.bench.judging import judged
from tests.bench.plan import Sound
from tests.bench.report import asked, phrase_right, silently_lost, silently_wrong, values_right
from tests.bench.voices import Split

SAMPLES: Samples = np.zeros(1600, np.float32)


def _whats(phrase: str) -> tuple[Finding | Command, ...]:
    return tuple(each.what for each in parse(phrase).said)


def _heard(*texts: str, confidence: float = 1.0) -> Heard:
    hypotheses = tuple(Hypothesis(t, t, (), -float(n), 1) for n, t in enumerate(texts))
    return Heard(Outcome.HEARD, hypotheses, texts[0], confidence=confidence)


def _taken(said: str, heard: Heard) -> Taken:
    found = judged(heard, "guided", SAMPLES, said)
    best = heard.hypotheses[0].normal if heard.hypotheses else ""
    return Taken(
        heard.outcome,
        best,
        heard.free_text,
        heard.confidence,
        heard.reasons,
        found.fate,
        found.stored,
        found.doubts,
        found.differences,
        found.offered,
        0.1,
    )


def test_a_wrong_number_is_one_wrong_value_of_three() -> None:
    differences = compare(_whats("left ovary cl twenty two"), _whats("left ovary cl twenty"))
    assert [(d.kind, d.right) for d in differences] == [
        ("side", True),
        ("structure", True),
        ("millimetres", False),
    ]


def test_a_finding_left_out_counts_all_its_values() -> None:
    said = _whats("left ovary cl twenty two follicle nine")
    differences = compare(said, _whats("left ovary cl twenty two"))
    assert sum(d.right for d in differences) == 3
    assert [d.said for d in differences if d.left_out] == ["left", "follicle", "9.0"]


def test_a_finding_that_was_not_said_is_wrong() -> None:
    differences = compare(_whats("left ovary cl"), _whats("left ovary cl twins"))
    assert [(d.kind, d.heard) for d in differences if d.wrong] == [("count", "2")]


def test_the_order_of_findings_does_not_matter() -> None:
    one = _whats("left ovary cl twenty two right ovary follicle nine")
    assert all(d.right for d in compare(one, tuple(reversed(one))))


def test_a_wrong_number_heard_surely_is_a_silent_error() -> None:
    taken = _taken("left ovary cl twenty two", _heard("left ovary cl thirty two"))
    assert taken.fate is Fate.RECORDED
    assert [(d.said, d.heard) for d in taken.silently_wrong] == [("22.0", "32.0")]
    assert silently_wrong([taken]) == Share(1, 3)


def test_a_wrong_number_heard_with_doubt_is_asked_and_no_silent_error() -> None:
    heard = _heard("left ovary cl thirty two", "left ovary cl twenty two", confidence=0.3)
    taken = _taken("left ovary cl twenty two", heard)
    assert taken.fate is Fate.ASKED
    assert taken.offered
    assert not taken.silently_wrong
    assert not taken.silently_lost
    assert asked([taken]) == Share(1, 1)
    assert values_right([taken]) == Share(2, 3)


def test_a_size_that_cannot_be_is_asked_about_however_surely_it_was_heard() -> None:
    taken = _taken("left ovary cl nineteen", _heard("left ovary cl ninety"))
    assert taken.fate is Fate.ASKED


def test_words_left_out_are_lost_in_silence() -> None:
    taken = _taken("left ovary cl twenty two follicle nine", _heard("left ovary cl twenty two"))
    assert not taken.silently_wrong
    assert silently_lost([taken]) == Share(3, 6)


def test_speech_refused_without_a_question_is_lost() -> None:
    heard = Heard(Outcome.NOT_OUR_LANGUAGE, free_text="come over here")
    taken = _taken("cow eight three seven", heard)
    assert taken.fate is Fate.REFUSED
    assert [d.kind for d in taken.silently_lost] == ["tag"]


def test_an_answer_where_nothing_was_asked_stores_nothing() -> None:
    taken = _taken("confirmed pregnant", _heard("confirm"))
    assert not taken.stored
    assert not taken.silently_wrong
    assert taken.silently_lost


def test_a_command_that_was_not_said_is_a_silent_error() -> None:
    taken = _taken("cow nine nine nine", _heard("scratch that"))
    assert taken.stored
    assert [d.kind for d in taken.silently_wrong] == ["command"]


def test_a_right_hearing_is_right_in_every_count() -> None:
    taken = _taken("next cow eight three seven", _heard("next cow eight three seven"))
    assert phrase_right([taken]) == Share(1, 1)
    assert values_right([taken], "tag") == Share(1, 1)
    assert not taken.silently_wrong
    assert not taken.silently_lost


def test_chatter_taken_as_a_finding_is_stored() -> None:
    assert judged(_heard("open"), "guided", SAMPLES, None).stored
    assert not judged(Heard(Outcome.NOT_OUR_LANGUAGE), "guided", SAMPLES, None).stored


def test_a_row_is_read_back_as_it_was_written() -> None:
    sound = Sound("phrase", "cow one", "flite-rms", "clean", Split.TUNE, 0)
    taken = _taken("left ovary cl twenty two", _heard("left ovary cl thirty two"))
    row = BenchRow(sound, 1.5, {"guided": taken})
    assert row_of(row.record(), sound) == row


@pytest.mark.parametrize(("hits", "total"), [(0, 20), (1, 20), (50, 83), (20, 20)])
def test_intervals_agree_with_another_library(hits: int, total: int) -> None:
    theirs = binomtest(hits, total).proportion_ci(0.95, method="wilson")
    assert Share(hits, total).interval() == pytest.approx((theirs.low, theirs.high), abs=1e-9)


def test_no_events_still_leave_a_rate_possible() -> None:
    # Exact Poisson limit for no event: -ln(0.025) = 3.689 (Garwood, Biometrika 28, 1936).
    assert per_hour(0, 2.0) == "0.0 (0.0-1.8)"
