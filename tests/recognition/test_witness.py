"""The untaught model: what it hears freely, and what it makes of the taught one's answers.

The recordings and their words are those of Debian's package pocketsphinx-testdata.
"""

from __future__ import annotations

import pytest

from dictation.recognition.beam import heard_freely
from dictation.recognition.engines import engine
from dictation.recognition.guided import GuidedRecogniser
from dictation.recognition.level import levelled, measure
from dictation.recognition.model import SpeechModel, load_model
from dictation.recognition.model_files import original_folder
from dictation.recognition.protocol import Heard, Outcome
from dictation.recognition.witness import Witness
from grammar.constraint import constraint
from grammar.parse import values_of
from tests.recognition.recordings import recording

GRID_NATS = 0.6
"""A batch is put on a grid of 256 values as a whole, so one batch differs from another."""


@pytest.fixture(scope="module")
def untaught() -> SpeechModel:
    return load_model(original_folder())


@pytest.fixture(scope="module")
def exams() -> GuidedRecogniser:
    found = engine("guided", constraint(), values_of)
    assert isinstance(found, GuidedRecogniser)
    return found


def test_a_text_scored_whole_has_the_score_it_was_written_with(untaught: SpeechModel) -> None:
    samples = recording("goforward.raw")
    encoded = untaught.encode(levelled(samples, measure(samples)))
    free = heard_freely(untaught, encoded, 40)
    shorter = free.tokens[:-2]
    scores = untaught.log_scores(encoded, [free.tokens, shorter, (*free.tokens, *shorter)])
    assert scores[0] == pytest.approx(free.log_score, abs=GRID_NATS)
    assert scores[0] > scores[1]
    assert scores[0] > scores[2]
    assert untaught.log_scores(encoded, [free.tokens]) == pytest.approx((scores[0],), abs=GRID_NATS)


def test_the_witness_writes_plain_english_and_finds_an_exam_in_it_unlikely(
    untaught: SpeechModel,
) -> None:
    samples = recording("goforward.raw")
    sound = levelled(samples, measure(samples))
    testimony = Witness(untaught).listen(sound, 40)
    assert "forward" in testimony.free.text.lower()
    tokens = heard_freely(untaught, untaught.encode(sound), 40).tokens
    as_said, something_else = testimony.scores([tokens, tuple(reversed(tokens))])
    assert as_said > something_else + 10


@pytest.mark.parametrize("name", ["goforward.raw", "cards/001.wav"])
def test_words_that_are_not_ours_are_refused_and_written_as_they_were_said(
    exams: GuidedRecogniser, name: str
) -> None:
    heard: Heard = exams.recognise(recording(name))
    assert heard.outcome is Outcome.NOT_OUR_LANGUAGE
    assert any(word in heard.free_text.lower() for word in ("forward", "clubs"))
