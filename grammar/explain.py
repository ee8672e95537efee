"""How a phrase is read: its pieces, the rule or term that each is, and what may come next.

What may come next are the grammar's own expectations, the most usual words first.
"""

from __future__ import annotations

import itertools
import random
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from functools import cache

from grammar.findings import Reading
from grammar.normalise import normalise
from grammar.parse import parser_in_force
from grammar.phrases import ParseTree
from grammar.sample import sample_phrase
from grammar.short_forms import spelled_out
from grammar.statements.items import children
from grammar.vocabulary import built_in, in_force

MOST_NEXT = 8
PHRASES_COUNTED = 150
"""Sampled phrases from which the order of completions is counted. More: steadier, slower once."""
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
    if name in vocabulary.terms or name in _NUMBERS or not children(tree):
        words = normal[tree.meta.start_pos : tree.meta.end_pos].strip() if tree.children else ""
        if words:
            yield Piece(words, name, words in vocabulary.own)
        return
    for inner in children(tree):
        yield from _pieces(inner, normal)


def completions(prefix: str) -> tuple[str, ...]:
    """Words that may follow what was typed, or finish its last word; most usual first.

    A prefix that ends in a space, or is empty, asks for the next word; otherwise its last word is
    being typed. Short forms before it are understood. Empty where the phrase cannot be read so far.
    """
    before, last = _apart(prefix)
    known = spelled_out(before)
    possible = parser_in_force().next_words(known)
    words = [word for word in possible if word.startswith(last)]
    first = built_in().short.get(last, "").split(" ")[0]
    if first in possible and first not in words:
        words.append(first)
    previous = known.rsplit(" ", 1)[-1]
    usual = _counts()
    words.sort(key=lambda word: (-usual[previous, word], -usual["", word], word))
    return tuple(words)


def _apart(prefix: str) -> tuple[str, str]:
    """What stands before the word that is being typed, and its letters so far."""
    if not prefix or prefix[-1].isspace():
        return prefix, ""
    head, _, last = prefix.rpartition(" ")
    return head, last.lower()


@cache
def _counts() -> Counter[tuple[str, str]]:
    """How often a word follows another in sampled phrases; ("", word): how often at all."""
    rng = random.Random(0)
    counts: Counter[tuple[str, str]] = Counter()
    for _ in range(PHRASES_COUNTED):
        words = sample_phrase(rng).split()
        counts.update(("", word) for word in words)
        counts.update(itertools.pairwise(words))
        counts["", words[0]] += 1
    return counts
