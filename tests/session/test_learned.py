"""What corrections say of the hearing."""

from __future__ import annotations

from pathlib import Path

import pytest

from dictation.cli.app import run
from dictation.session.events import Choice, QueryAnswered, Renumbered, Withdrawn
from dictation.session.journal import Journal
from dictation.session.learned import Misheard, MissingForm, misheard, missing_forms
from dictation.session.review_events import Undone
from tests.bench.corrections import command as corrections
from tests.session.spoken import Chatter, Phrase, Unsure, entries_of, visit_of
from tests.session.test_people_and_undo import inserted, rephrased

SPOKEN: tuple[Phrase, ...] = (
    "cow eight three seven",
    "left ovary CL thirty, follicle nine",
    Unsure("pregnant forty days", ("pregnant fourteen days",)),
    Chatter("left ovary golden lump twenty two"),
)


@pytest.mark.parametrize(
    ("deed", "expected"),
    [
        (rephrased(2, "l ov cl 13, follicle nine"), [Misheard("ovary size_mm", "30", "13")]),
        (rephrased(2, "r ov cl 30, f 9"),
         [Misheard("ovary side", "left", "right"), Misheard("ovary side", "left", "right")]),
        (QueryAnswered("u3", Choice.TAKE, 2, "anna"),
         [Misheard("pregnancy age_days", "40", "14")]),
        (QueryAnswered("u3", Choice.TAKE, 1, "anna"), []),
        (Renumbered(1, "831", "anna"), [Misheard("animal tag", "837", "831")]),
        (Withdrawn(202, "anna"), [Misheard("ovary", "heard", "was not there")]),
        (inserted(1, "tw"), [Misheard("conceptus", "nothing", "was missed")]),
    ],
)  # fmt: skip
def test_each_value_that_was_put_right_is_counted(deed: Phrase, expected: list[Misheard]) -> None:
    assert list(misheard(visit_of(*SPOKEN, deed))) == expected


def test_what_was_taken_back_says_nothing() -> None:
    visit = visit_of(*SPOKEN, rephrased(2, "l ov cl 13"), Undone(6, "anna"))
    assert list(misheard(visit)) == []


def test_unknown_words_beside_what_was_typed_for_them_are_offered_to_the_word_list() -> None:
    visit = visit_of(*SPOKEN, inserted(1, "l ov cl 22", 4))
    assert list(missing_forms(visit)) == [MissingForm("corpus_luteum", "golden lump")]
    clear = visit_of(*SPOKEN, rephrased(2, "l ov cl 13"))
    assert list(missing_forms(clear)) == []


def test_the_bench_prints_figures_and_lines_for_the_word_list(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = tmp_path / "visit-larkmoor"
    deeds = (rephrased(2, "l ov cl 13, follicle nine"), inserted(1, "l ov cl 22", 4))
    with Journal.write(folder) as journal:
        for entry in entries_of(*SPOKEN, *deeds):
            journal.append(entry.event)
    assert run([str(folder)], command=corrections, name="corrections") == 0
    told = capsys.readouterr().out
    assert "ovary size_mm" in told
    assert "visit-larkmoor" in told
    assert 'corpus_luteum = ["golden lump"]' in told
