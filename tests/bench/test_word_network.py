"""The grammar as a phonetic recogniser searches it says what the parser reads, and no more."""

from __future__ import annotations

import random
from functools import cache
from importlib.util import find_spec

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dictation.recognition.protocol import Outcome
from grammar.findings import Unread
from grammar.phrases import PhraseParser
from grammar.sample import sample_phrase
from grammar.vocabulary import built_in
from tests.bench.plan import plan
from tests.bench.spoken_rules import Rule, Sequence, Word, spoken_rules
from tests.bench.voices import Split
from tests.bench.word_network import Network, network, piece


@cache
def _exam() -> Network:
    return network(spoken_rules())


@cache
def _reader() -> PhraseParser:
    return PhraseParser(built_in())


def _walk(rng: random.Random, longest: int = 12) -> list[str]:
    """Words along a random path of the network, up to a place where it may end."""
    words: list[str] = []
    state = 0
    while state not in _exam().ends and len(words) < longest:
        ways: list[tuple[str, int]] = [
            (word, after) for word, reached in _exam().arcs[state].items() for after in reached
        ]
        ways += [("", after) for after in _exam().silent[state]]
        word, state = rng.choice(sorted(ways))
        words += [word] if word else []
    return words if state in _exam().ends else []


@given(st.integers(0, 10**6))
@settings(max_examples=150, deadline=None)
def test_every_phrase_that_is_said_is_a_path(seed: int) -> None:
    assert _exam().accepts(sample_phrase(random.Random(seed)).split())


@given(st.integers(0, 10**6))
@settings(max_examples=60, deadline=None)
def test_every_path_is_a_sentence_of_the_grammar(seed: int) -> None:
    words = _walk(random.Random(seed))
    # What follows 'note' is free words to the reader, but not to the network.
    noted = not {"note", "remark", "comment"}.isdisjoint(words[:-1])
    if words and not noted:
        assert not isinstance(_reader().trees(" ".join(words)), Unread)


@pytest.mark.parametrize("words", ["left ovary the", "cl ovary left of", "millimetres", ""])
def test_what_is_no_sentence_is_no_path(words: str) -> None:
    assert not _exam().accepts(words.split())


def test_a_list_repeats_its_item() -> None:
    rules = spoken_rules('many: one (join one)*\none: "cow" | "calf"\njoin: SP | SP "and" SP\n')
    small = network(rules, "many")
    assert small.accepts(["cow", "and", "calf", "cow"])
    assert not small.accepts(["cow", "and"])
    assert not small.accepts([])


def test_numerals_fall_away_with_what_needs_them() -> None:
    rules = spoken_rules('size: unit | N2\nunit: "two" | N1\nlong: NLONG SP "cows"\n')
    assert rules == {"size": Rule("unit"), "unit": Word("two")}


def test_a_piece_is_as_small_as_its_language() -> None:
    rules = spoken_rules('both: "a" SP "x" | "b" SP "x"\n')
    assert len(piece(rules, "both").arcs) == 3


def test_a_rule_that_recurses_before_its_end_is_refused() -> None:
    middle = {"nest": Sequence((Word("open"), Rule("nest"), Word("close")))}
    with pytest.raises(ValueError, match="nest"):
        network(middle, "nest")


@pytest.mark.skipif(find_spec("pocketsphinx") is None, reason="pocketsphinx is not installed")
def test_the_phonetic_recogniser_hears_a_clear_voice() -> None:
    from tests.bench.phonetic import PhoneticRecogniser

    phonetic = PhoneticRecogniser.load()
    clear = [
        s
        for s in plan("small", Split.TUNE)
        if s.kind == "phrase" and s.condition == "clean" and s.voice.startswith("flite-rms")
    ]
    if not clear:
        pytest.skip("flite is not here")
    heard = [(s.words, phonetic.recognise(s.samples())) for s in clear]
    right = sum(
        h.outcome is Outcome.HEARD and h.hypotheses[0].normal == words for words, h in heard
    )
    assert right >= len(heard) / 2
