"""Typing in short: every short form is read, and nothing spoken is taken for one."""

from __future__ import annotations

import random

import pytest

from grammar import built_in, parse, spelled_out
from grammar.own_words import words_of_grammar
from grammar.sample import sample_phrase
from grammar.say import say

EXAMPLES: dict[str, str] = {
    "l ov cl 22": "left ovary corpus luteum 22 millimetres",
    "r ov f 9": "right ovary follicle nine millimetres",
    "lov cl 22x18": "left ovary cl twenty two by eighteen millimetres",
    "lov cl 22 x 18": "left ovary cl twenty two by eighteen millimetres",
    "rov cl 22 cav": "right ovary cl 22 millimetres with a cavity",
    "bov st": "both ovaries static",
    "lov fol 14, rov sf": "left ovary follicle 14 millimetres right ovary small follicles",
    "lov fc 30 rov lc 28": "left ovary follicular cyst 30 mm right ovary luteal cyst 28 mm",
    "lov rcl 12, cy 26": "left ovary regressing cl 12 mm, cyst 26 mm",
    "lov ns rov nr": "left ovary not seen right ovary not reached",
    "lh fl 20": "left horn fluid 20 millimetres",
    "rh cfl 15": "right horn cloudy fluid 15 millimetres",
    "cx nad": "cervix normal",
    "ut clear": "uterus clear",
    "bd fl 5": "body fluid 5 millimetres",
    "endo": "endometritis",
    "met": "metritis",
    "p 45 d": "pregnant forty-five days",
    "pr l hn abt 6 w": "pregnant left horn about six weeks",
    "p 6 wk": "pregnant six weeks",
    "p 6 wks": "pregnant six weeks",
    "p 2 mo": "pregnant two months",
    "op": "open",
    "unc": "uncertain",
    "c 837": "cow eight three seven",
    "hf 412": "heifer four one two",
    "sg hb": "single heartbeat",
    "tw nhb": "twins no heartbeat",
    "pla": "placentomes",
    "mfet": "male fetus",
    "ffet": "female fetus",
    "rc 2 w": "recheck in two weeks",
    "bc 3": "condition three",
}


@pytest.mark.parametrize("typed", EXAMPLES)
def test_a_short_form_says_what_its_words_say(typed: str) -> None:
    short, long = parse(spelled_out(typed)), parse(EXAMPLES[typed])
    assert short.unread is None
    assert long.unread is None
    assert short.findings == long.findings
    assert short.findings
    assert not short.others


def test_every_short_form_has_an_example() -> None:
    used = {word for typed in EXAMPLES for word in typed.replace(",", "").split()}
    assert set(built_in().short) - used == {"x"} - used


def test_no_short_form_is_a_word_of_the_grammar() -> None:
    assert not words_of_grammar(built_in()) & set(built_in().short)


def test_a_phrase_typed_as_it_is_spoken_keeps_its_values() -> None:
    rng = random.Random(11)
    for _ in range(150):
        phrase = sample_phrase(rng)
        assert parse(spelled_out(phrase)).said == parse(phrase).said


def test_what_was_spelled_out_stays_as_it_is() -> None:
    for typed in EXAMPLES:
        once = spelled_out(typed)
        assert spelled_out(once) == once


def test_a_unit_that_was_typed_is_kept() -> None:
    assert spelled_out("l ov cl 2.2 cm") == "left ovary cl 2.2 cm"
    assert [say(finding) for finding in parse(spelled_out("lov cl 2.2cm")).findings] == [
        "left ovary cl twenty two millimetres"
    ]


def test_a_note_is_kept_as_it_is_typed() -> None:
    assert spelled_out("note p and l to the vet") == "note p and l to the vet"
