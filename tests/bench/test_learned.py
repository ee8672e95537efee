"""What corrections say of the hearing."""

from __future__ import annotations

from pathlib import Path

import pytest

from dictation.cli.app import run
from dictation.decide.people.orders import findings_typed
from dictation.visit.inputs import (
    Choice,
    EntryTakenBack,
    FindingWithdrawn,
    Input,
    PhraseHeardAgain,
    PhraseInserted,
    PhrasePutRight,
    QueryAnswered,
    TagChanged,
)
from tests.bench.corrections import command as corrections
from tests.bench.learned import Misheard, MissingForm, misheard, missing_forms
from tests.decide.spoken import ON, Chatter, Phrase, Unsure, visit_of
from tests.records.visits import write_visit

SPOKEN: tuple[Phrase, ...] = (
    "cow eight three seven",
    "left ovary CL thirty, follicle nine",
    Unsure("pregnant forty days", ("pregnant fifty days",)),
    Chatter("left ovary golden lump twenty two"),
)


def put_right(phrase: int, text: str) -> PhrasePutRight:
    return PhrasePutRight(phrase, text, findings_typed(text, ON))


def inserted(exam: int, text: str, of: int | None = None) -> PhraseInserted:
    return PhraseInserted(exam, text, findings_typed(text, ON), of)


def missing(*deeds: PhrasePutRight | PhraseInserted | EntryTakenBack) -> list[MissingForm]:
    visit = visit_of(*SPOKEN, *deeds)
    typed = (
        (seq, deed)
        for seq, deed in enumerate(deeds, start=len(SPOKEN) + 2)
        if not isinstance(deed, EntryTakenBack)
    )
    return list(missing_forms(visit, typed))


@pytest.mark.parametrize(
    ("deed", "expected"),
    [
        (put_right(2, "l ov cl 13, follicle nine"), [Misheard("ovary size_mm", "30", "13")]),
        (put_right(2, "r ov cl 30, f 9"),
         [Misheard("ovary side", "left", "right"), Misheard("ovary side", "left", "right")]),
        (QueryAnswered("u3", Choice.TAKE, 2),
         [Misheard("pregnancy age_days", "40", "50")]),
        (QueryAnswered("u3", Choice.TAKE, 1), []),
        (TagChanged(1, "831"), [Misheard("animal tag", "837", "831")]),
        (FindingWithdrawn(3), [Misheard("ovary", "heard", "was not there")]),
        (inserted(1, "tw"), [Misheard("conceptus", "nothing", "was missed")]),
    ],
)  # fmt: skip
def test_each_value_that_was_put_right_is_counted(deed: Input, expected: list[Misheard]) -> None:
    assert list(misheard(visit_of(*SPOKEN, deed))) == expected


def test_what_was_taken_back_says_nothing() -> None:
    visit = visit_of(*SPOKEN, put_right(2, "l ov cl 13"), EntryTakenBack(6))
    assert list(misheard(visit)) == []


def test_taking_back_the_taking_back_counts_again() -> None:
    visit = visit_of(*SPOKEN, put_right(2, "l ov cl 13, f 9"), EntryTakenBack(6), EntryTakenBack(7))
    assert list(misheard(visit)) == [Misheard("ovary size_mm", "30", "13")]


def test_what_was_heard_again_by_the_machine_is_nobodys_correction() -> None:
    said = findings_typed("l ov cl 13, f 9", ON)
    again = PhraseHeardAgain(2, "left ovary cl thirteen", said, 0.9, "guided", "1")
    assert list(misheard(visit_of(*SPOKEN, again))) == []


def test_unknown_words_beside_what_was_typed_for_them_are_offered_to_the_word_list() -> None:
    taken_up = inserted(1, "l ov cl 22", 4)
    assert missing(taken_up) == [MissingForm("corpus_luteum", "golden lump")]
    assert missing(taken_up, EntryTakenBack(6)) == []
    assert missing(put_right(2, "l ov cl 13")) == []
    assert missing(inserted(1, "l ov cl 22")) == []


def test_the_bench_prints_figures_and_lines_for_the_word_list(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = tmp_path / "visit-larkmoor"
    deeds = (put_right(2, "l ov cl 13, follicle nine"), inserted(1, "l ov cl 22", 4))
    write_visit(folder, *SPOKEN, *deeds)
    assert run([str(folder)], command=corrections, name="corrections") == 0
    told = capsys.readouterr().out
    assert "ovary size_mm" in told
    assert "visit-larkmoor" in told
    assert 'corpus_luteum = ["golden lump"]' in told
