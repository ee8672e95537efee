"""Phrases of the exam's language from a seed, on one side of the split."""

from __future__ import annotations

import hashlib
import random
from collections.abc import Iterator

from grammar.sample import sample_phrase
from tests.bench.voices import Split

HELD_OUT_BELOW = 85
"""A phrase is held out where the first byte of the SHA-256 of its words is below this: a third."""

SEED = {Split.TUNE: 2_000_000, Split.HELD_OUT: 1_000_000}
"""First seed of each side; phrase after phrase takes the next one."""


def side_of(normal: str) -> Split:
    """The side of the split on which words lie, whoever draws them."""
    first = hashlib.sha256(normal.encode()).digest()[0]
    return Split.HELD_OUT if first < HELD_OUT_BELOW else Split.TUNE


def phrases(split: Split) -> Iterator[str]:
    """Phrases of one side, in normalised words, without end; the same ones every time."""
    seed = SEED[split]
    while True:
        words = sample_phrase(random.Random(seed))
        seed += 1
        if side_of(words) is split:
            yield words
