"""Whatever the grammar can say it can read, and the recogniser's constraint accepts it."""

from __future__ import annotations

import random
import re
from functools import cache

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from hypothesis.extra.lark import from_lark
from lark import Lark
from llguidance import LLMatcher, LLTokenizer

from dictation.recognition.language import Language
from grammar import normalise, parse
from grammar.findings import Finding
from grammar.language import grammar_text
from grammar.say import say
from tests.grammar.strategies import VISIT, findings
from tests.grammar.writing import accepted, constraint_in_force, written

NOTE = re.compile(r"\b(note|remark|comment) ")
SLOW = [HealthCheck.too_slow, HealthCheck.filter_too_much, HealthCheck.data_too_large]


@cache
def heard() -> Language:
    return constraint_in_force()


@given(findings)
@settings(max_examples=800, deadline=None)
def test_every_finding_can_be_said_and_is_read_back(finding: Finding) -> None:
    reading = parse(say(finding), VISIT)
    assert reading.findings == (finding,), reading
    assert reading.others == ()


@given(st.lists(findings, min_size=2, max_size=3))
@settings(max_examples=200, deadline=None)
def test_reading_twice_gives_the_same(several: list[Finding]) -> None:
    phrase = " ".join(say(finding) for finding in several)
    assert parse(phrase, VISIT) == parse(phrase, VISIT)


sentences = from_lark(Lark(grammar_text(), parser="earley", lexer="dynamic"))


@given(sentences, st.integers(0, 2**32))
@settings(max_examples=400, deadline=None, suppress_health_check=SLOW)
def test_a_sentence_of_the_grammar_is_accepted_and_read_in_every_way_of_writing_it(
    sentence: str, seed: int
) -> None:
    # the free words of a note may be any, also such as are written otherwise once normalised
    assert normalise(sentence) == sentence or NOTE.search(sentence)
    sentence = normalise(sentence)
    choose = random.Random(seed).choice
    text = written(sentence, choose)
    assert normalise(text) == sentence
    # the free words of a note are heard freely, not under the constraint
    assert accepted(text, heard()) or NOTE.search(sentence), text
    assert parse(text, VISIT).said == parse(sentence, VISIT).said


@given(st.text())
@settings(max_examples=300, deadline=None)
def test_any_text_is_read_or_refused_with_a_place_and_a_reason(text: str) -> None:
    reading = parse(text)
    assert (reading.unread is None) == bool(reading.said)
    assert normalise(normalise(text)) == normalise(text)


def test_the_constraint_leaves_no_way_out_through_a_note() -> None:
    assert not accepted("Note anything at all", heard())
    assert not accepted("Pregnant, note anything at all", heard())


@pytest.mark.parametrize("text", ["Pass me the rope would you", "garbage", "left left ovary ovary"])
def test_the_constraint_refuses_what_is_not_the_language(text: str) -> None:
    assert not accepted(text, heard())


def test_the_grammar_is_read_by_both_readers() -> None:
    grammar = LLMatcher.grammar_from_lark(grammar_text())
    assert LLMatcher.validate_grammar(grammar, LLTokenizer("byte")) == ""
    Lark(grammar_text(), parser="earley", lexer="dynamic")
