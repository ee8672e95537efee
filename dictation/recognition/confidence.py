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


@dataclass(frozen=True, slots=True)
class Evidence:
    """What was measured of one utterance.

    ``gap``: free minus guided log score, nats a guided word. ``margin``: nats by which the best
    leads the best hypothesis with other values, ``rival`` (infinite when there is none).
    ``letters_a_second``: spoken letters for each voiced second. ``numbers_differ``: the free
    hearing carries numbers, and other ones.
    """

    gap: float
    margin: float
    rival: str | None
    letters_a_second: float
    numbers_differ: bool


def pooled(
    hypotheses: Sequence[Hypothesis], values: Values, reward_nats: float
) -> list[list[tuple[float, Hypothesis]]]:
    """Hypotheses with the same values together, the likeliest group first.

    A hypothesis that cannot be read is a group of its own.
    """
    groups: dict[Hashable, list[tuple[float, Hypothesis]]] = {}
    for hypothesis in hypotheses:
        carried = values(hypothesis.normal)
        key: Hashable = ("unread", hypothesis.normal) if carried is None else ("read", carried)
        score = hypothesis.log_score + reward_nats * len(hypothesis.words)
        groups.setdefault(key, []).append((score, hypothesis))
    for group in groups.values():
        group.sort(key=lambda g: -g[0])
    return sorted(groups.values(), key=lambda g: -group_score(g))


def group_score(group: Sequence[tuple[float, Hypothesis]]) -> float:
    """Log of the summed probability of a group."""
    return float(np.logaddexp.reduce([score for score, _ in group]))


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
    if evidence.letters_a_second < 6.0:
        confidence = min(confidence, 0.4)
        reasons.append("more was said than these words account for")
    if evidence.numbers_differ:
        confidence = min(confidence, 0.6)
        reasons.append("another number may have been said")
    return round(confidence, 3), tuple(reasons)


def _logistic(nats: float) -> float:
    return 1.0 / (1.0 + math.exp(-nats))
