"""What people say is judged as a session takes it, and stands apart from made voices."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from dictation.archive.values import Difference
from dictation.recognition.protocol import Heard, Hypothesis, Outcome
from dictation.visit.parts import Fate
from tests.bench.hearing import Row, Taken
from tests.bench.judging import judged
from tests.bench.made_in_real import HEADSET, REAL_NOISE, MadeSound
from tests.bench.people_report import is_lost, is_right, is_wrong, people_tables, without_each
from tests.bench.plan import BenchSound
from tests.bench.real_people import FOREIGN_WORD, SIDE, TAG, RealSound
from tests.bench.voices import Split


def said(kind: str, words: str, number: int = 0) -> BenchSound:
    if kind in {REAL_NOISE, HEADSET}:
        return MadeSound(kind, words, f"voice {number}", "-", Split.TUNE, number, Path())
    return RealSound(kind, words, f"person {number}", "-", Split.TUNE, ())


def taken(sound: BenchSound, heard: str, confidence: float = 1.0) -> Taken:
    best = (Hypothesis(heard, heard, (), 0.0, 1),) if heard else ()
    outcome = Outcome.HEARD if heard else Outcome.NOT_OUR_LANGUAGE
    answer = Heard(outcome, best, heard, confidence=confidence)
    words = sound.words if sound.for_us else None
    found = judged(answer, "guided", np.zeros(1600, np.float32), words, sound.after)
    return Taken(outcome, heard, heard, confidence, (), found.fate, found.stored, found.doubts,
                 found.differences, found.offered, 0.1)  # fmt: skip


def test_a_tag_heard_surely_is_stored_where_the_last_animal_is_done_with() -> None:
    sound = said(TAG, "eight three seven")
    right, wrong = taken(sound, "eight three seven"), taken(sound, "eight three nine")
    assert (right.stored, right.asked, is_right(right)) == (True, False, True)
    assert is_wrong(wrong)
    assert wrong.silently_wrong == (Difference("tag", "837", "839"),)
    assert taken(sound, "eight three nine", confidence=0.3).fate is Fate.ASKED


@pytest.mark.parametrize(
    ("heard", "right", "wrong", "lost"),
    [
        ("left", True, False, False),
        ("right", False, True, False),
        ("", False, False, True),
        ("left ovary cl", False, True, False),
    ],
)
def test_a_side_alone_is_judged_by_its_word(
    heard: str, right: bool, wrong: bool, lost: bool
) -> None:
    found = taken(said(SIDE, "left"), heard)
    assert (is_right(found), is_wrong(found), is_lost(found)) == (right, wrong, lost)


def test_people_and_made_voices_stand_in_tables_of_their_own() -> None:
    rows = []
    for kind, words in (
        (TAG, "eight three seven"),
        (FOREIGN_WORD, ""),
        (REAL_NOISE, "pregnant"),
        (HEADSET, "pregnant"),
    ):
        sound = said(kind, words)
        rows.append(Row(sound, 1.0, {"guided": taken(sound, words)}))
    titles = [str(table.title) for table in people_tables(rows, "guided")]
    assert sum("said to us" in title for title in titles) == 1
    assert sum("not for us" in title for title in titles) == 1
    assert sum("made voices" in title for title in titles) == 2
    assert all(table.row_count == 1 for table in people_tables(rows, "guided")[:4])


def test_leaving_out_each_speaker_shows_how_much_hangs_on_one() -> None:
    rows = []
    for number, heard in enumerate(["left", "left", "left", "right"]):
        sound = said(SIDE, "left", number)
        rows.append(Row(sound, 1.0, {"guided": taken(sound, heard)}))
    assert without_each(rows, "guided", is_right) == pytest.approx((2 / 3, 1.0))
    assert without_each(rows[:1], "guided", is_right) is None
