"""What sounds alike is found by its sounds, and the benches meet every word."""

from __future__ import annotations

import random
from collections import Counter
from itertools import islice

import pytest

from dictation.errors import MissingError
from grammar.parse import parse, values_of
from tests.bench.alike import alike
from tests.bench.breadth import usual, walks, wide
from tests.bench.phrases import side_of
from tests.bench.voices import Split


def test_phrases_that_differ_by_a_sound_and_in_meaning_are_found() -> None:
    try:
        found = alike()
    except MissingError as error:
        pytest.skip(str(error))
    pairs = {frozenset((pair.one, pair.other)) for pair in found}
    assert frozenset(("heartbeat", "no heartbeat")) in pairs
    assert all(values_of(pair.one) != values_of(pair.other) for pair in found)


def test_walks_over_the_grammar_are_read_in_one_way_and_meet_seldom_words() -> None:
    phrases = list(islice(walks(random.Random(4)), 400))
    assert all(parse(words).said and not parse(words).others for words in phrases)
    met = Counter(word for words in phrases for word in words.split())
    assert len(met) > 400


def test_what_vets_say_is_heard_on_the_side_on_which_it_lies() -> None:
    heard = set(islice(wide(Split.TUNE), 200))
    assert heard & set(usual())
    assert {side_of(words) for words in heard} == {Split.TUNE}
