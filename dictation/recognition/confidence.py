"""How far to trust what was heard: a number from 0 to 1, and the reasons in words.

It is the chance that the words were meant for us, times the chance that they are right. Both are
logistic regressions, rounded, over the tune side (2026-11-30): 1,860 phrases by 28 made voices in
sixteen conditions, 671 tags and sides by people; and, as not meant for us, 509 single words and 222
pieces of talk by people, 150 of made-up chatter, 68 animals and noises. Two
models testify. The taught one has read the trade, and hears it in other people's words too: what it
hears freely is no evidence against itself. The untaught one knows no trade, but whether somebody
spoke other words it knows best.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass

import numpy as np

from dictation.recognition.protocol import Hypothesis, Odds
from dictation.recognition.speech import spoken_words

#: Maps a normalised text to the values it carries; None when it cannot be read.
Values = Callable[[str], Hashable | None]

#: Log odds that words were meant for us: the constant, and what each measure adds.
_MEANT = 1.3
_ROOT_OF_UNLIKE = -0.8
_A_NAT_OF_GAP = -0.9
_ALIKE, _ALIKE_UNTAUGHT = 1.2, 0.9
_LOG_OF_WORDS = 1.4
_EXTRA_WORD = -0.65
_SAME, _SAME_UNTAUGHT = 1.05, 0.85
#: Log odds that they are right: the constant, and what each measure adds. Surroundings weigh more
#: than the fit says, and so does what the untaught model finds unlike: most of the made voices
#: taught the model, their noise has no radio in it, and a wrong value is worse than a question.
_RIGHT = -0.9
_LOG_OF_MARGIN = 2.2
_RIGHT_SAME, _RIGHT_SAME_UNTAUGHT = 1.2, 0.5
_RIGHT_NOISE = -2.0
_RIGHT_GAP = -0.7
_RIGHT_ROOT_OF_UNLIKE = -0.7
_RIGHT_PACE = 0.5
#: Beyond these a measure adds no more: nats a word twice, words, nats, nats of margin.
_MOST_UNLIKE, _MOST_GAP, _MOST_EXTRA, _MOST_PACE, _MOST_MARGIN = 12.0, 8.0, 6, 5.0, 10.0
QUIET_RATIO = 8.0
"""Voice over pauses from which surroundings are quiet, a ratio of levels."""


@dataclass(frozen=True, slots=True)
class Refused:
    """What is not asked about either: a chance of having been meant for us ``below``, or words of
    which neither model's free hearing writes the share ``unlike`` of the letters."""

    below: float
    unlike: float


FEW_WORDS = 2
REFUSED_FEW, REFUSED_MORE = Refused(0.33, 0.5), Refused(0.5, 0.45)
"""Of up to FEW_WORDS, of which little can be told, and of more. Of the tune side so refused
(2026-12-01): 142 of 150 foreign words, 183 of 184 pieces of talk, 64 of 68 noises; none of 240 tags
by people, 7 of 685 phrases in quiet, by headset or in a steel shed, 12 of 341 in made noise, 8 of
180 in real noise, real rooms and codecs: of these 27 none had been heard right."""
ALIKE_SHARE = 0.5
"""Share of its distance that counts of a rival whose number sounds like ours: thirteen, thirty."""
NEAR_NATS, NEAR_LOUD_NATS, NEAR_ALONE_NATS = 2.5, 5.0, 6.0
"""A rival with other values no further behind keeps the confidence below NEAR_CONFIDENCE: in quiet,
in LOUD surroundings, and where the free hearing of the model that heard it says something else; but
not where the untaught model says the same. Of the tune side's 1,808 sure phrases and tags 117 are
asked about for it, 4 of them wrong; voices that taught nothing err more, and in noise most."""
NEAR_CONFIDENCE = 0.7
#: See ``Evidence.noise``.
LOUD = 0.3
#: Taken off words that cannot be read, in their rank, nats, and in the odds of being right.
UNREADABLE_NATS, UNREADABLE_ODDS = 4.0, -5.0
WITNESS_SHARE = 0.1
"""Share of the untaught model's score in the order of hypotheses. Right on top with 0, 0.1 and 0.2:
457, 456, 452 of 480 phrases by voices that taught nothing; 335, 335, 338 of 355 tags and 267, 274,
281 of 300 sides by people; 208, 210, 204 of 230 phrases at 5 dB."""


@dataclass(frozen=True, slots=True)
class Evidence:
    """What was measured of one utterance.

    ``normal``: the best hypothesis. ``gap``: free minus guided log score, nats a word, of the model
    that heard it; ``unlike``: the same of the untaught model. ``margin``: nats by which the best
    leads the best hypothesis with other values, ``rival`` (infinite when there is none).
    ``pace_nats``: what the pace speaks against the words. ``similarity``: share of letters that the
    free hearing has in common. ``readable``: the grammar reads the words. ``loud_over_floor``:
    level of the voice over that of the pauses, a ratio. ``same``: the free hearing carries the
    same values. ``extra_words``: words that it has more.
    """

    normal: str
    gap: float
    unlike: float
    margin: float
    rival: str | None
    pace_nats: float
    similarity: float
    similarity_untaught: float
    readable: bool
    loud_over_floor: float
    same: bool = False
    same_untaught: bool = False
    extra_words: int = 0

    @property
    def near_nats(self) -> float:
        """See NEAR_NATS."""
        if self.same_untaught:
            return 0.0
        quiet = NEAR_NATS if self.same else NEAR_ALONE_NATS
        return max(quiet, NEAR_LOUD_NATS) if self.noise > LOUD else quiet

    @property
    def noise(self) -> float:
        """How far the surroundings come up to the voice: 0 in quiet, about 1 at 5 dB."""
        return max(0.0, math.log(QUIET_RATIO / max(self.loud_over_floor, 1.0)))

    def refused(self, meant: float) -> bool:
        """Whether it is not even asked about, with this chance of having been meant for us."""
        few = spoken_words(self.normal) <= FEW_WORDS
        limits = REFUSED_FEW if few else REFUSED_MORE
        unlike = max(self.similarity, self.similarity_untaught) < limits.unlike
        return meant < limits.below or (unlike and not self.same and not self.same_untaught)


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


def odds_of(evidence: Evidence) -> Odds:
    """The chance of having been meant for us, and the odds of being right were there no rival."""
    gap = min(max(evidence.gap, -1.0), _MOST_GAP)
    unlike = math.sqrt(min(max(evidence.unlike, 0.0), _MOST_UNLIKE))
    meant = _MEANT + _ROOT_OF_UNLIKE * unlike
    meant += _A_NAT_OF_GAP * gap
    meant += _ALIKE * evidence.similarity + _ALIKE_UNTAUGHT * evidence.similarity_untaught
    meant += _LOG_OF_WORDS * math.log(max(1, spoken_words(evidence.normal)))
    meant += _EXTRA_WORD * min(evidence.extra_words, _MOST_EXTRA)
    meant += _SAME * evidence.same + _SAME_UNTAUGHT * evidence.same_untaught
    right = _RIGHT + _RIGHT_ROOT_OF_UNLIKE * unlike
    right += _RIGHT_SAME * evidence.same + _RIGHT_SAME_UNTAUGHT * evidence.same_untaught
    right += _RIGHT_NOISE * evidence.noise + _RIGHT_GAP * max(gap, 0.0)
    right += _RIGHT_PACE * max(evidence.pace_nats, -_MOST_PACE)
    right += 0.0 if evidence.readable else UNREADABLE_ODDS
    chance, unlike = round(_chance(meant), 4), round(evidence.unlike, 3)
    return Odds(chance, round(right, 3), unlike, evidence.near_nats)


def confidence_in(odds: Odds, margin: float) -> float:
    """The chance that words are right whose nearest rival lies ``margin`` nats behind."""
    confidence = odds.meant * _chance(odds.right + _near(margin))
    if margin < odds.near_nats:
        confidence = min(confidence, NEAR_CONFIDENCE)
    return round(confidence, 3)


def _near(margin: float) -> float:
    return _LOG_OF_MARGIN * math.log1p(min(max(margin, 0.0), _MOST_MARGIN))


def _chance(log_odds: float) -> float:
    return 1.0 / (1.0 + math.exp(-log_odds))


def could_be(normal: str) -> str:
    """The reason that a rival is."""
    return f"it could also be '{normal}'"


def reasons_of(evidence: Evidence) -> tuple[str, ...]:
    """What speaks against the words, the weightiest first."""
    against = {
        could_be(evidence.rival or ""): 4.0
        - _LOG_OF_MARGIN * math.log1p(min(max(evidence.margin, 0.0), _MOST_MARGIN)),
        "more was said than these words account for": -_RIGHT_PACE * evidence.pace_nats,
        "the words fit the sound poorly": -_A_NAT_OF_GAP * evidence.gap,
        "it sounds rather like other words": math.sqrt(max(evidence.unlike, 0.0)) - 1.5,
        "the surroundings are loud": evidence.noise,
        "the words cannot be read": 0.0 if evidence.readable else 9.0,
    }
    weighty = sorted((w, reason) for reason, w in against.items() if w > 0.5)
    return tuple(reason for _, reason in reversed(weighty))
