"""How a phrase is read: its pieces, the rule or term that each is, and what may come next."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from lark import Tree

from grammar.completion import completions
from grammar.findings import Reading
from grammar.normalise import normalise
from grammar.parse import parser_in_force
from grammar.phrases import ParseTree
from grammar.vocabulary import in_force

MOST_NEXT = 8
_NUMBERS = frozenset(
    "small_size n_size n_age n999 n99_number tag digits score ordinal number_only count".split()  # noqa: SIM905
)


@dataclass(frozen=True, slots=True)
class Piece:
    """``words`` of the phrase, the ``rule`` or term of the vocabulary that they are, and whether
    they are a practice's ``own``."""

    words: str
    rule: str
    own: bool


@dataclass(frozen=True, slots=True)
class Explanation:
    """``reading`` as ever; ``pieces`` of its first tree; ``next_words``: what could stand where it
    could not be read, or behind it."""

    reading: Reading
    pieces: tuple[Piece, ...]
    next_words: tuple[str, ...]


def explain(phrase: str, visit_date: date | None = None) -> Explanation:
    """How a phrase is read, with the vocabulary in force."""
    parser = parser_in_force()
    reading = parser.parse(phrase, visit_date)
    normal = normalise(phrase)
    trees = parser.trees(normal) if normal else []
    pieces = tuple(_pieces(trees[0], normal)) if trees else ()
    read = normal[: reading.unread.at].rstrip() if reading.unread is not None else normal
    return Explanation(reading, pieces, completions(f"{read} " if read else "")[:MOST_NEXT])


def _pieces(tree: ParseTree, normal: str) -> Iterator[Piece]:
    vocabulary = in_force()
    name = str(tree.data)
    if name in vocabulary.terms or name in _NUMBERS or not _inner(tree):
        words = normal[tree.meta.start_pos : tree.meta.end_pos].strip() if tree.children else ""
        if words:
            yield Piece(words, name, words in vocabulary.own)
        return
    for inner in _inner(tree):
        yield from _pieces(inner, normal)


def _inner(tree: ParseTree) -> list[ParseTree]:
    return [child for child in tree.children if isinstance(child, Tree)]
