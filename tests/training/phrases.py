"""Trade phrases for training: drawn from the grammar, none of the held-out third.

Which phrases are held out is decided by the phrase alone, so that every bench and every training
draws the same line: the first byte of the SHA-256 of the normalised text is under 85. A slice of
the training side validates and is never trained on: first byte 85 to 95.
"""

from __future__ import annotations

import hashlib
import random
from collections.abc import Iterator

from grammar.sample import sample_phrase
from tests.bench.breadth import usual, walks

HELD_OUT_BELOW = 85
VALIDATION_BELOW = 96
MOST = {1: 32, 2: 16}
"""How often a phrase of so many words is drawn: a command said alone has little to be heard by."""
MOST_ELSE = 4
WALKED_SHARE, USUAL_SHARE = 0.3, 0.15
"""Of the phrases, those that meet every word alike, and those of the list of what vets say."""


def first_byte(normal: str) -> int:
    """First byte of the SHA-256 of a normalised phrase."""
    return hashlib.sha256(normal.encode()).digest()[0]


def is_held_out(normal: str) -> bool:
    """Belongs to the third that is only ever measured."""
    return first_byte(normal) < HELD_OUT_BELOW


def is_validation(normal: str) -> bool:
    """Belongs to the slice that chooses between trainings."""
    return HELD_OUT_BELOW <= first_byte(normal) < VALIDATION_BELOW


def draw(count: int, seed: int) -> Iterator[str]:
    """Phrases that are not held out; how often one comes that the grammar draws often: ``MOST``."""
    rng = random.Random(seed)
    seen: dict[str, int] = {}
    drawn, walked, listed = 0, walks(rng), usual()
    while drawn < count:
        kind = rng.random()
        if kind < WALKED_SHARE:
            normal = next(walked)
        elif kind < WALKED_SHARE + USUAL_SHARE:
            normal = rng.choice(listed)
        else:
            normal = sample_phrase(rng)
        most = MOST.get(len(normal.split()), MOST_ELSE)
        if is_held_out(normal) or seen.get(normal, 0) >= most:
            continue
        seen[normal] = seen.get(normal, 0) + 1
        drawn += 1
        yield normal
