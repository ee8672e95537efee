"""A practice's own words are read and heard like ours; what cannot be used is named by line."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from grammar import VocabularyError, built_in, extended, parse, spelled_out, take_up
from grammar.explain import explain
from grammar.findings import (
    OvarianStructure,
    Ovary,
    Plan,
    PlanAction,
    Pregnancy,
    PregnancyStatus,
    Side,
    TreatmentClass,
)
from grammar.parse import Parser
from tests.grammar.writing import accepted, constraint_in_force

OWN = """
[terms]
corpus_luteum = ["yellow one"]
pregnant = ["in the club"]

[words.yellow]
written = ["yellow", "Yella"]
sounds = "Y EH L OW"

[short]
yo = "yellow one"
"""


@pytest.fixture
def own_words() -> Iterator[None]:
    take_up(extended(built_in(), OWN, "words.toml"))
    yield
    take_up(None)


@pytest.mark.usefixtures("own_words")
def test_own_forms_and_ways_of_writing_are_read() -> None:
    reading = parse("Left ovary Yella one 22, in the club")
    assert reading.findings == (
        Ovary(Side.LEFT, OvarianStructure.CORPUS_LUTEUM, 22, unit_assumed=True),
        Pregnancy(PregnancyStatus.PREGNANT),
    )


@pytest.mark.usefixtures("own_words")
def test_the_recognisers_constraint_takes_them_too() -> None:
    assert accepted("Left ovary Yella one 22, in the club.", constraint_in_force())


def test_without_the_file_neither_end_knows_them() -> None:
    assert parse("left ovary yellow one").unread is not None
    assert not accepted("Left ovary yellow one.", constraint_in_force())


@pytest.mark.usefixtures("own_words")
def test_an_abbreviation_is_typed_for_its_words() -> None:
    assert spelled_out("l ov yo 22") == "left ovary yellow one 22"


@pytest.mark.usefixtures("own_words")
def test_an_explanation_names_each_piece_and_what_is_our_own() -> None:
    pieces = {p.words: (p.rule, p.own) for p in explain("left ovary yellow one 22").pieces}
    assert pieces["yellow one"] == ("corpus_luteum", True)
    assert pieces["left"] == ("left", False)
    assert pieces["22"] == ("small_size", False)


def test_an_explanation_says_what_could_stand_where_a_phrase_stops() -> None:
    explanation = explain("left banana")
    assert explanation.reading.unread is not None
    assert "ovary" in explanation.next_words


@pytest.mark.parametrize(
    ("text", "line", "what"),
    [
        ('[terms]\nfolicle = ["bubble"]', 2, "the nearest is 'follicle'"),
        ('[terms]\n\nfollicle = [\n  "bubble",\n  "pregnant",\n]', 5, "already means 'pregnant'"),
        ('[terms]\nfollicle = ["Bubble"]', 2, "lower-case words"),
        ('[terms]\nfollicle = ["note this"]', 2, "begins a note"),
        ('[terms]\nopen = ["twenty two"]', 2, "is a number"),
        ('[terms]\nopen = "bubble"', 2, "a list of texts"),
        ("terms = 3", 1, "write [terms]"),
        ("\n\n[term]\nx = 1", 3, "no table 'term'"),
        ("[terms]\nopen = [", 2, "not readable as TOML"),
        ('[words.pq]\n\nsounds = "abc"', 3, "no ARPABET"),
        ('[words.pq]\nspelt = "abc"', 1, "'spelt' is not known"),
        ('[words.zed]\nwritten = ["Z", "A.Z."]', 2, "opens with the word 'a'"),
        ('[words.zed]\nwritten = ["Z9"]', 2, "must be letters"),
        ('[terms]\nopen = ["mty"]\n[short]\nmm = "mty"', 4, "itself a word"),
        ('[short]\nqq = "banana"', 2, "'banana' is no word"),
    ],
)
def test_what_cannot_be_used_is_named_with_its_line(text: str, line: int, what: str) -> None:
    with pytest.raises(VocabularyError) as raised:
        extended(built_in(), text, "my words.toml")
    assert str(raised.value).startswith(f"my words.toml, line {line}: ")
    assert what in str(raised.value)


def test_two_words_written_alike_are_refused() -> None:
    with pytest.raises(VocabularyError, match="written form of both 'cl' and 'see'"):
        extended(built_in(), '[words.see]\nwritten = ["C L"]', "words.toml")


def test_a_product_is_read_as_the_class_under_which_the_users_file_puts_it() -> None:
    words = extended(built_in(), '[terms]\nprostaglandin = ["blupp"]', "words.toml")
    (said,) = Parser(words).parse("give her blupp").findings
    assert said == Plan(PlanAction.TREAT, treatment_class=TreatmentClass.PROSTAGLANDIN)
    assert parse("give her blupp").unread is not None
