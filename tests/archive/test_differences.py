"""A visit heard again: what would change, what is taken over, and what stays as people made it."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from dictation.archive.differences import (
    ANOTHER_ANIMAL,
    COMMAND,
    STILL_DOUBTFUL,
    Difference,
    Kept,
    rehear,
    take_over,
)
from dictation.audio.endpoint import Utterance
from dictation.audio.keep import keep_utterance
from dictation.audio.samples import SAMPLE_RATE_HZ, Samples
from dictation.decide.people.orders import findings_typed
from dictation.decide.record import ChangedMeanwhileError, Record
from dictation.recognition.protocol import Heard, Hypothesis, Outcome
from dictation.visit.inputs import (
    By,
    Choice,
    Deed,
    EntryTakenBack,
    PhraseHeard,
    PhraseMoved,
    PhrasePutRight,
    QueryAnswered,
)
from grammar.exam import FindingState
from grammar.findings import Ovary
from grammar.normalise import normalise
from grammar.parse import parse
from tests.decide.spoken import ON, Chatter, Phrase, Unsure, sure
from tests.records.visits import write_visit

STEP = 0.01

SAID: tuple[Phrase, ...] = (
    sure("cow eight three seven"),
    sure("left ovary CL thirty"),
    Unsure("right ovary follicle nine", ("right ovary follicle five",)),
    Chatter("shut that gate"),
)
"""Phrases 1 to 4, each with its sound; entries 3 to 6."""


class Told:
    """A recogniser that knows each utterance by its loudness, and hears what it is told to."""

    name = "told"

    def __init__(self, phrases: dict[int, str], confidence: float = 1.0) -> None:
        self._phrases = phrases
        self._confidence = confidence

    def recognise(self, samples: Samples) -> Heard:
        text = self._phrases.get(round(float(samples.max()) / STEP))
        if text is None:
            return Heard(Outcome.NOT_OUR_LANGUAGE, free_text="shut that gate")
        found = Hypothesis(text, normalise(text), (), 0.0, 1)
        return Heard(Outcome.HEARD, (found,), text, confidence=self._confidence, reasons=("noise",))


AGAIN = {1: "cow eight three seven", 2: "left ovary cl thirty", 3: "right ovary follicle nine"}


def visit(folder: Path, *said: Phrase) -> Path:
    """A visit with the sound of its phrases."""
    write_visit(folder, *said)
    for number in range(1, len(said) + 1):
        samples = np.full(SAMPLE_RATE_HZ, number * STEP, np.float32)
        keep_utterance(
            folder, number, Utterance(samples, number * 10.0, number * 10.0 + 2.0, number)
        )
    return folder


def heard_again(
    record: Record, phrases: dict[int, str], confidence: float = 1.0
) -> dict[int, Difference | Kept | None]:
    told = Told(phrases, confidence)
    found = rehear(record, told, parse, record.journal.audio)
    return dict(enumerate(found, start=1))


def different(found: Difference | Kept | None) -> Difference:
    assert isinstance(found, Difference), found
    return found


def sizes(record: Record) -> list[float | None]:
    return [f.size_mm for f in record.visit.exams[0].findings if isinstance(f, Ovary)]


def test_the_same_hearing_differs_only_where_it_is_sure_now(tmp_path: Path) -> None:
    with Record.amend(visit(tmp_path, *SAID)) as record:
        found = heard_again(record, AGAIN)
        assert (found[1], found[2], found[4]) == (None, None, None)
        now_sure = different(found[3])
        assert (now_sure.was_asked, now_sure.left, now_sure.before) == (True, "", now_sure.now)
        take_over(record, now_sure, "told", "1", "ash")
        assert record.visit.open_queries == ()
        assert sizes(record) == [30.0, 9.0]


def test_other_values_are_taken_over_beside_the_first_hearing(tmp_path: Path) -> None:
    with Record.amend(visit(tmp_path, *SAID)) as record:
        before = list(record.journal.evidence(PhraseHeard))
        found = heard_again(record, {**AGAIN, 2: "left ovary cl thirteen", 4: "left ovary cyst"})
        changed, taken_up = different(found[2]), different(found[4])
        assert (changed.phrase.text, changed.text) == (
            "left ovary cl thirty",
            "left ovary cl thirteen",
        )
        for each in (changed, taken_up):
            assert (each.left, each.tag) == ("", "837")
            take_over(record, each, "told", "1", "ash")
        assert sizes(record) == [13.0, 9.0, None]
        assert {r.state for r in record.visit.exams[0].recorded} == {
            FindingState.ACCEPTED,
            FindingState.QUERIED,
        }
        assert list(record.journal.evidence(PhraseHeard)) == before


def test_what_was_taken_over_stays_at_the_next_hearing(tmp_path: Path) -> None:
    with Record.amend(visit(tmp_path, *SAID)) as record:
        found = heard_again(record, {**AGAIN, 2: "left ovary cl thirteen"})
        take_over(record, different(found[2]), "told", "1", "ash")
        again = heard_again(record, AGAIN)
        assert again[2] == Kept(2, "it was settled after it was heard")


def put_right(phrase: int, text: str) -> PhrasePutRight:
    return PhrasePutRight(phrase, text, findings_typed(text, ON))


@pytest.mark.parametrize(
    ("deeds", "phrase"),
    [
        ((put_right(2, "l ov cl 13"),), 2),
        ((put_right(2, "l ov cl 13"), EntryTakenBack(7)), 2),
        ((QueryAnswered("u3", Choice.TAKE, 2),), 3),
        ((QueryAnswered("u3", Choice.NONE_OF_THEM),), 3),
        ((PhrasePutRight(3, "", ()),), 3),
    ],
)
def test_what_people_put_right_or_back_is_not_heard_again(
    tmp_path: Path, deeds: tuple[Deed, ...], phrase: int
) -> None:
    with Record.amend(visit(tmp_path, *SAID)) as record:
        for deed in deeds:
            record.put_right(deed, By("anna"))
        found = heard_again(record, {2: "left ovary cl nine", 3: "left ovary cl nine"})
        kept = found[phrase]
        assert isinstance(kept, Kept)
        assert kept.why in ("a person put it right", "it was taken back")
        assert isinstance(found[5 - phrase], Difference)


def test_a_hearing_that_a_person_took_back_is_not_taken_over_again(tmp_path: Path) -> None:
    with Record.amend(visit(tmp_path, *SAID)) as record:
        found = heard_again(record, {**AGAIN, 2: "left ovary cl thirteen"})
        take_over(record, different(found[2]), "told", "1", "ash")
        record.put_right(EntryTakenBack(record.visit.last_seq), By("anna"))
        assert sizes(record)[0] == 30.0
        assert heard_again(record, AGAIN)[2] == Kept(2, "a person put it right")


def test_what_the_speaker_changed_or_took_back_or_said_while_paused_stays(tmp_path: Path) -> None:
    said: tuple[Phrase, ...] = (
        sure("cow eight three seven"),
        sure("left ovary CL thirty"),
        sure("make that thirty-two"),
        sure("right ovary follicle nine"),
        sure("scratch that"),
        sure("pause"),
        sure("right ovary CL twenty"),
    )
    with Record.amend(visit(tmp_path, *said)) as record:
        found = heard_again(record, dict.fromkeys(range(1, 8), "left ovary follicle eight"))
        whys = {n: each.why for n, each in found.items() if isinstance(each, Kept)}
        assert whys == {
            2: "the speaker changed it",
            4: "it was taken back",
            7: "it was said while nothing was to be taken up",
        }


def test_doubts_commands_and_other_animals_are_left_for_people(tmp_path: Path) -> None:
    folder = visit(tmp_path, *SAID)
    with Record.amend(folder) as record:
        found = heard_again(record, {2: "next cow four one two", 4: "cow four one two"})
        assert different(found[2]).left == COMMAND
        assert different(found[4]).left == ANOTHER_ANIMAL
        found = heard_again(record, {2: "left ovary cl thirteen"}, confidence=0.3)
        assert different(found[2]).left == STILL_DOUBTFUL


def test_what_somebody_changed_since_is_told_and_not_written_over(tmp_path: Path) -> None:
    folder = visit(tmp_path, *SAID)
    with Record.amend(folder) as record, Record.amend(folder) as other:
        found = heard_again(record, {**AGAIN, 2: "left ovary cl thirteen", 4: "left ovary cyst"})
        other.put_right(put_right(2, "l ov cl 27"), By("anna"))
        # The first reads in what the other did; the second must know of it all the same.
        take_over(record, different(found[4]), "told", "1", "ash")
        with pytest.raises(ChangedMeanwhileError, match="changed meanwhile"):
            take_over(record, different(found[2]), "told", "1", "ash")
        assert sizes(record)[0] == 27.0


def test_a_phrase_that_was_moved_is_the_persons(tmp_path: Path) -> None:
    said = (*SAID, sure("next cow four one two"), sure("open"))
    with Record.amend(visit(tmp_path, *said)) as record:
        record.put_right(PhraseMoved(2, 2), By("anna"))
        found = heard_again(record, {**AGAIN, 2: "left ovary cl thirteen"})
        assert found[2] == Kept(2, "a person put it right")


def test_sound_that_is_lost_is_told(tmp_path: Path) -> None:
    with Record.amend(visit(tmp_path, *SAID)) as record:
        (tmp_path / "audio" / "0002.flac").unlink()
        lost = heard_again(record, AGAIN)[2]
        assert isinstance(lost, Kept)
        assert "0002.flac" in lost.why
