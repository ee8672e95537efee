"""How far to trust what was heard: a number from 0 to 1, and the reasons in words.

Nothing here is the model's own opinion of itself. Four things are measured: how much worse the
guided words explain the sound than free ones; how close the best hypothesis with other values is;
whether the words account for the voiced time; whether the free hearing carries other numbers.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass

import numpy as np

from dictation.recognition.protocol import Hypothesis

#: Maps a normalised text to the values it carries; None when it cannot be read.
Values = Callable[[str], Hashable | None]

#: Free minus guided log score, nats a word, beyond which the words are not of our language. Larger
#: lets chatter through as findings; smaller refuses strong accents.
NOT_OURS_GAP_NATS_A_WORD = 9.0
#: Taken off words that the grammar accepts but cannot read in one way, nats.
UNREADABLE_NATS = 4.0


@dataclass(frozen=True, slots=True)
class Evidence:
    """What was measured of one utterance.

    ``gap``: free minus guided log score, nats a guided word. ``margin``: nats by which the best
    leads the best hypothesis with other values, ``rival`` (infinite when there is none).
    ``pace``: spoken letters for each voiced second. ``pace_nats``: what that pace speaks against
    the words. ``numbers_differ``: the free hearing carries numbers, and other ones. ``readable``:
    the grammar reads the words, and in one way.
    """

    gap: float
    margin: float
    rival: str | None
    pace: float
    pace_nats: float
    numbers_differ: bool
    readable: bool


#: A hypothesis with the rank it had in the search, nats.
Ranked = tuple[float, Hypothesis]


def pooled(ranked: Sequence[Ranked], values: Values) -> list[list[Ranked]]:
    """Hypotheses with the same values together, the likeliest group first.

    A hypothesis that cannot be read is a group of its own, and pays UNREADABLE_NATS.
    """
    groups: dict[Hashable, list[Ranked]] = {}
    for rank, hypothesis in ranked:
        carried = values(hypothesis.normal)
        if carried is None:
            groups[("unread", hypothesis.normal)] = [(rank - UNREADABLE_NATS, hypothesis)]
        else:
            groups.setdefault(("read", carried), []).append((rank, hypothesis))
    for group in groups.values():
        group.sort(key=lambda g: -g[0])
    return sorted(groups.values(), key=lambda g: -group_rank(g))


def group_rank(group: Sequence[Ranked]) -> float:
    """Log of the summed weight of a group, nats."""
    return float(np.logaddexp.reduce([rank for rank, _ in group]))


def confidence_of(evidence: Evidence) -> tuple[float, tuple[str, ...]]:
    """Confidence, and what lowered it."""
    reasons: list[str] = []
    confidence = 1.0
    if evidence.margin < 3.0 and evidence.rival is not None:
        confidence = min(confidence, _logistic(evidence.margin))
        reasons.append(f"could also be '{evidence.rival}'")
    if evidence.gap > 4.0:
        confidence = min(confidence, 0.5)
        reasons.append("the words fit the sound poorly")
    if evidence.pace_nats < -0.5:
        confidence = min(confidence, 0.4)
        reasons.append("more was said than these words account for")
    if evidence.numbers_differ:
        confidence = min(confidence, 0.6)
        reasons.append("another number may have been said")
    return round(confidence, 3), tuple(reasons)


def _logistic(nats: float) -> float:
    return 1.0 / (1.0 + math.exp(-nats))
