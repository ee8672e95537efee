"""Completion offers what the grammar reads, and all of it."""

from __future__ import annotations

import random

from grammar import completions
from grammar.sample import sample_phrase


def test_every_word_of_a_phrase_is_offered_behind_those_before_it() -> None:
    rng = random.Random(23)
    for _ in range(12):
        words = sample_phrase(rng).split()
        for place, word in enumerate(words):
            before = "".join(f"{each} " for each in words[:place])
            assert word in completions(before + word[:1]), (before, word)


def test_only_words_that_go_on_with_the_last_letters_are_offered() -> None:
    offered = completions("left ov")
    assert offered
    assert all(word.startswith("ov") for word in offered)


def test_the_usual_word_comes_first() -> None:
    assert completions("left ")[0] == "ovary"
    assert completions("corpus ")[0] == "luteum"


def test_short_forms_before_the_word_are_understood() -> None:
    assert "cl" in completions("l ov ")
    assert completions("l ov c")[0] == "cl"
    assert "follicle" in completions("l ov f")


def test_nothing_is_offered_behind_words_that_cannot_be_read() -> None:
    assert completions("ovary ovary ") == ()
    assert completions("tractor ") == ()


def test_a_beginning_is_offered_for_an_empty_line() -> None:
    assert {"left", "cow", "pregnant", "open"} <= set(completions(""))
