"""The search: the grammar's words only, the free hearing beside it, one hypothesis a text."""

from __future__ import annotations

import re

import numpy as np
import pytest

from dictation.audio.samples import Samples
from dictation.recognition.beam import BeamSearch, SearchSettings
from dictation.recognition.guided import GuidedRecogniser
from dictation.recognition.language import Language
from dictation.recognition.model import SpeechModel, load_model, log_softmax
from dictation.recognition.model_files import original_folder
from dictation.recognition.tokens import END
from tests.recognition.recordings import recording
from tests.recognition.small_grammars import CARDS


@pytest.fixture(scope="module")
def model() -> SpeechModel:
    return load_model(original_folder())


def bursts(seed: int) -> Samples:
    """Noise in syllable-like bursts: it is voiced, and means nothing."""
    random = np.random.default_rng(seed)
    length = int(random.uniform(0.5, 3.0) * 16_000)
    swell = np.abs(np.sin(np.arange(length) / random.uniform(500, 3_000))) ** 3
    sound: Samples = (random.normal(size=length) * swell * 0.1).astype(np.float32)
    return sound


@pytest.mark.parametrize("seed", range(12))
def test_whatever_the_sound_only_the_grammar_is_written(model: SpeechModel, seed: int) -> None:
    sound = bursts(seed)
    search = BeamSearch(model, SearchSettings(width=4))
    decoding = search.decode(
        model.encode(sound), Language(model.table, CARDS), len(sound) / 16_000, lambda _: 0.0
    )
    card = r"(\w+( of)? (clubs|hearts|diamonds|spades))"
    hand = re.compile(rf"({card}(,? {card})*|\w+,? \w+|\w+ {card})\.?", re.IGNORECASE)
    assert decoding.guided
    for row in decoding.guided:
        assert hand.fullmatch(row.text), row.text
        assert Language(model.table, CARDS).holds(row.tokens)


def free_hearing(model: SpeechModel, samples: Samples) -> tuple[list[int], float]:
    """Greedy decoding on its own, one row, for comparison."""
    encoded = model.encode(samples)
    scores, past = log_softmax(encoded.first[np.newaxis]), encoded.past
    tokens: list[int] = []
    total = 0.0
    for _ in range(100):
        token = int(scores[0].argmax())
        total += float(scores[0, token])
        if token == END:
            break
        tokens.append(token)
        logits, past = model.step(encoded, np.array([token], np.int64), past)
        scores = log_softmax(logits)
    return tokens, total


@pytest.mark.parametrize("name", ["cards/002.wav", "cards/005.wav", "goforward.raw"])
def test_the_free_row_of_the_batch_equals_a_free_hearing_on_its_own(
    model: SpeechModel, name: str
) -> None:
    samples = recording(name)
    language = Language(model.table, CARDS)
    search = BeamSearch(model, SearchSettings(width=8))
    free = search.decode(model.encode(samples), language, len(samples) / 16_000, lambda _: 0.0).free
    tokens, total = free_hearing(model, samples)
    assert list(free.tokens) == tokens
    # The model is quantised over the whole batch: scores move in the second digit.
    assert free.log_score == pytest.approx(total, abs=0.3)


def test_surfaces_of_one_text_are_one_hypothesis_and_their_probabilities_add(
    cards: GuidedRecogniser,
) -> None:
    samples = recording("cards/004.wav")
    heard = cards.recognise(samples)
    normals = [h.normal for h in heard.hypotheses]
    assert normals[0] == "five five"
    assert len(set(normals)) == len(normals)
    best = heard.hypotheses[0]
    (alone,) = cards.score(samples, [best.text])
    assert best.log_score >= alone - 0.3


def test_hypotheses_carry_what_the_protocol_promises(cards: GuidedRecogniser) -> None:
    heard = cards.recognise(recording("cards/001.wav"))
    assert heard.free_text == "Ten of clubs."
    assert heard.free_tokens == 4
    assert heard.free_log_score < 0
    best = heard.hypotheses[0]
    assert best.log_score < 0
    assert best.tokens >= 3
    assert 0.8 <= heard.confidence <= 1


def test_a_constraint_that_does_not_compile_says_why(cards: GuidedRecogniser) -> None:
    with pytest.raises(ValueError, match="does not compile"):
        cards.listening_for("start: nowhere", str)
