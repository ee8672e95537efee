"""Recognisers, loaded once for all tests of this folder.

The exam is heard by the default model. Small grammars of other matters, for recordings of people,
are heard by the original, which was not taught the trade.
"""

from __future__ import annotations

import pytest

from dictation.recognition.engines import ORIGINAL_SETTINGS
from dictation.recognition.guided import GuidedRecogniser
from dictation.recognition.model_files import original_folder
from grammar import constraint
from grammar.parse import values_of
from tests.recognition.small_grammars import CARDS, DIGITS, MOVES


@pytest.fixture(scope="session")
def cards() -> GuidedRecogniser:
    return GuidedRecogniser.load(CARDS, str, original_folder(), settings=ORIGINAL_SETTINGS)


@pytest.fixture(scope="session")
def digits(cards: GuidedRecogniser) -> GuidedRecogniser:
    return cards.listening_for(DIGITS, str)


@pytest.fixture(scope="session")
def moves(cards: GuidedRecogniser) -> GuidedRecogniser:
    return cards.listening_for(MOVES, str)


@pytest.fixture(scope="session")
def exams() -> GuidedRecogniser:
    return GuidedRecogniser.load(constraint(), values_of)
