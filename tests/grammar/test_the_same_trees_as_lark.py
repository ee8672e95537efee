"""The automaton finds the trees that lark's own Earley parser finds: all of them, and no others."""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from functools import cache

import pytest
from lark import Lark, Token, Tree

from grammar.findings import Unread
from grammar.language import grammar_text
from grammar.phrases import PhraseParser
from grammar.vocabulary import built_in

Shape = str | tuple[str, tuple["Shape", ...]]


@cache
def ours() -> PhraseParser:
    return PhraseParser(built_in())


@cache
def lark() -> Lark:
    return Lark(
        grammar_text(),
        parser="earley",
        lexer="dynamic",
        ambiguity="explicit",
        keep_all_tokens=True,
        maybe_placeholders=False,
    )


def shapes(tree: Tree[Token] | Token) -> Iterator[Shape]:
    """Every tree packed in one, as rules and words."""
    if isinstance(tree, Token):
        yield str(tree)
    elif tree.data == "_ambig":
        for option in tree.children:
            yield from shapes(option)
    else:
        for children in itertools.product(*(list(shapes(child)) for child in tree.children)):
            yield str(tree.data), children


@pytest.mark.parametrize(
    "phrase",
    [
        "left ovary cl twenty two mil",
        "cl twenty two follicles",
        "cervix open",
        "pregnant a hundred and five days",
        "next cow eight thirty seven",
        "left sorry right horn fluid two and a half centimetres",
        "note kicked the gate",
        "okay next one",
    ],
)
def test_a_phrase_has_the_same_trees(phrase: str) -> None:
    found = ours().trees(phrase)
    assert not isinstance(found, Unread)
    assert {shape for tree in found for shape in shapes(tree)} == set(shapes(lark().parse(phrase)))
