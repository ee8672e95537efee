"""What may be typed next: the grammar's own expectations, the most usual words first."""

from __future__ import annotations

import itertools
import random
from collections import Counter
from functools import cache

from grammar.parse import next_words
from grammar.sample import sample_phrase
from grammar.short_forms import spelled_out
from grammar.vocabulary import built_in

PHRASES_COUNTED = 150
"""Sampled phrases from which the order of completions is counted. More: steadier, slower once."""


def completions(prefix: str) -> tuple[str, ...]:
    """Words that may follow what was typed, or finish its last word; most usual first.

    A prefix that ends in a space, or is empty, asks for the next word; otherwise its last word is
    being typed. Short forms before it are understood. Empty where the phrase cannot be read so far.
    """
    before, last = _apart(prefix)
    known = spelled_out(before)
    possible = next_words(known)
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
