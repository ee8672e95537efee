"""Recognisers on the built-in model, loaded once for all tests of this folder."""

from __future__ import annotations

import pytest

from dictation.recognition.guided import GuidedRecogniser
from grammar import constraint, parse
from tests.recognition.small_grammars import CARDS, DIGITS, MOVES


def exam_values(normal: str) -> object | None:
    reading = parse(normal)
    return None if reading.unread is not None else tuple(said.what for said in reading.said)


@pytest.fixture(scope="session")
def cards() -> GuidedRecogniser:
    return GuidedRecogniser.load(CARDS, str)


@pytest.fixture(scope="session")
def digits(cards: GuidedRecogniser) -> GuidedRecogniser:
    return cards.listening_for(DIGITS, str)


@pytest.fixture(scope="session")
def moves(cards: GuidedRecogniser) -> GuidedRecogniser:
    return cards.listening_for(MOVES, str)


@pytest.fixture(scope="session")
def exams(cards: GuidedRecogniser) -> GuidedRecogniser:
    return cards.listening_for(constraint(), exam_values)
