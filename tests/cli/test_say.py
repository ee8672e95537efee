"""``hornsweep say``: what can be said of what, made from the vocabulary, on one sheet."""

from __future__ import annotations

import json
from datetime import date

import pytest

from dictation.cli.app import run
from dictation.cli.say import LINES, WIDE
from dictation.console.sheet import sheet
from grammar import parse
from grammar.own_words import extended
from grammar.vocabulary import built_in

ON = date(2026, 11, 18)


def test_it_fits_on_one_sheet(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["say"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert len(lines) <= LINES
    assert max(map(len, lines)) <= WIDE


@pytest.mark.parametrize("phrase", [p for heading in sheet() for p in heading.examples])
def test_every_example_on_it_has_one_reading(phrase: str) -> None:
    reading = parse(phrase, ON)
    assert reading.said
    assert not reading.others


def test_json_holds_every_form(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["say", "--json"]) == 0
    told = {w["means"]: w["forms"] for h in json.loads(capsys.readouterr().out) for w in h["words"]}
    assert told["over_the_brim"] == list(built_in().terms["over_the_brim"])
    run(["say", "--all"])
    assert "well over the brim" in " ".join(capsys.readouterr().out.split())


def test_a_new_word_is_on_it_without_more() -> None:
    own = extended(built_in(), '[terms]\ncorpus_luteum = ["golden bean"]', "words.toml")
    forms = {form for heading in sheet(own) for _, forms in heading.words for form in forms}
    assert "golden bean" in forms
