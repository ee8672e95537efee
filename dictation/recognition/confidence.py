"""How far to trust what was heard: a number from 0 to 1, and the reasons in words.

Nothing here is the model's own opinion of itself. Measured are: how much worse the guided words
explain the sound than free ones; how close the best hypothesis with other values comes; whether
the words account for the voiced time; whether they account for the letters of the free hearing.
Of these, and of whether the free hearing carries the same values, the weights are a logistic
regression of 'right', rounded, over 471 utterances of the tune side of the recognition bench (22
voices; clean, 20, 10 and 5 dB, headset, steel shed) and its chatter, 2026-11-25, with the adapted
model. That model was taught by some of these voices, so CAUTION is more than they ask for.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass

import numpy as np

from dictation.recognition.protocol import Hypothesis

#: Maps a normalised text to the values it carries; None when it cannot be read.
Values = Callable[[str], Hashable | None]

#: Free minus guided log score, nats a word, beyond which the words are not of our language if they
#: are also less alike than NOT_OURS_SIMILARITY. Larger lets chatter through to be asked about;
#: smaller refuses strong accents. Refused on tuning: 35 of 40 chatter, 4 of 477 right phrases.
NOT_OURS_GAP = 1.0
#: See NOT_OURS_GAP; a share of letters.
NOT_OURS_SIMILARITY = 0.65
#: Gap in nats a word beyond which nothing else is asked.
FOREIGN_GAP = 9.0
#: Log odds that words of little confidence were meant for us: the constant, a similarity of 1, a
#: nat a word of gap, a word that the free hearing has more. Logistic regression, rounded, over 241
#: utterances of the tune side below TALK_BELOW (3,000 phrases, 600 of chatter and noise). Talk in
#: the yard is long, and the grammar finds a few words of its own in it.
_MEANT, _MEANT_ALIKE, _MEANT_GAP, _MEANT_EXTRA_WORD = -2.0, 6.0, -1.0, -1.0
#: Below these log odds, and below this confidence, nothing was meant for us. Of the 241: 99 of 140
#: of chatter, 4 of 101 phrases, none of the 4 rightly heard.
TALK_ODDS = -1.0
TALK_BELOW = 0.5
#: Taken off words that the grammar accepts but cannot read in one way, nats.
UNREADABLE_NATS = 4.0

#: Log odds of being right: the constant, and what each measure adds.
_CONSTANT = 0.8
_A_NAT_OF_MARGIN = 0.8
_A_NAT_OF_GAP = -1.1
_A_NAT_OF_PACE = 0.5
_AN_UNMATCHED_LETTER = -0.4
_A_SINGLE_WORD = -1.0
_FREELY_THE_SAME = 0.6
#: For each natural log of loud over floor below QUIET_RATIO: in noise the free hearing errs with
#: the guided one.
_NOISE = -1.5
QUIET_RATIO = 8.0
#: Beyond these a measure adds no more: nats, nats, nats a word, letters.
_MOST_MARGIN, _MOST_PACE, _MOST_GAP, _MOST_UNMATCHED = 8.0, 5.0, 8.0, 6
#: Taken off the log odds. On 240 tuning phrases at a confidence of 0.8 or more: 178 taken unasked,
#: none of them wrong, and no chatter of 48.
_CAUTION = 1.0
#: A hypothesis with other values, this near in nats, keeps the confidence below NEAR_CONFIDENCE:
#: forty and fourteen must be asked about. Of 2,600 tuning phrases, in those freely heard the same
#: and not in LOUD surroundings, 8 of 97 had a wrong value below it, none of 1,580 above.
NEAR_NATS = 3.5
#: The same where the free hearing says something else: of those phrases 30 of 121 were wrong below
#: it, none of 14 above.
NEAR_ALONE_NATS = 6.0
#: As NEAR_NATS, in LOUD surroundings: 22 of 107 were wrong below NEAR_NATS, 5 of 94 between that
#: and this, none of 587 above.
NEAR_LOUD_NATS = 5.0
#: See ``noise``.
LOUD = 0.3
#: A free hearing that is no more alike than this and has so many letters of its own: never sure.
UNLIKE_SIMILARITY, UNLIKE_LETTERS = 0.6, 3
#: One word in this much noise (see ``noise``) is never sure, a shout or a gate fits it too well,
#: unless the free hearing says the same and no rival comes near.
LOUD_FOR_ONE_WORD = 0.5
CLEAR_WORD_NATS = 5.0
NEAR_CONFIDENCE = 0.7
#: Words that cannot be read are never sure.
UNREAD_CONFIDENCE = 0.3


@dataclass(frozen=True, slots=True)
class Evidence:
    """What was measured of one utterance.

    ``normal``: the best hypothesis. ``gap``: free minus guided log score, nats a word (of the text
    with fewer). ``margin``: nats by which the best leads the best hypothesis with other values,
    ``rival`` (infinite when there is none). ``pace_nats``: what the pace speaks against the words.
    ``unmatched``, ``similarity``: agreement with the free hearing. ``readable``: the grammar reads
    the words. ``loud_over_floor``: level of the voice over that of the pauses, a ratio.
    ``freely_the_same``: the free hearing carries the same values. ``extra_words``: words that the
    free hearing has more.
    """

    normal: str
    gap: float
    margin: float
    rival: str | None
    pace_nats: float
    unmatched: int
    similarity: float
    readable: bool
    loud_over_floor: float
    freely_the_same: bool = False
    extra_words: int = 0

    @property
    def not_ours(self) -> bool:
        """The words are not of our language at all."""
        unlike = self.gap > NOT_OURS_GAP and self.similarity < NOT_OURS_SIMILARITY
        return unlike or self.gap > FOREIGN_GAP

    @property
    def noise(self) -> float:
        """How far the surroundings come up to the voice: 0 in quiet, about 1 at 5 dB."""
        return max(0.0, math.log(QUIET_RATIO / max(self.loud_over_floor, 1.0)))

    @property
    def near(self) -> bool:
        """A rival with other values is not far behind."""
        alike = NEAR_LOUD_NATS if self.noise > LOUD else NEAR_NATS
        return self.margin < (alike if self.freely_the_same else NEAR_ALONE_NATS)

    @property
    def unlike(self) -> bool:
        """The free hearing is of other words altogether."""
        letters = self.unmatched >= UNLIKE_LETTERS
        return not self.freely_the_same and letters and self.similarity < UNLIKE_SIMILARITY

    @property
    def like_talk(self) -> bool:
        """Rather talk of other things than words for us, if they are not confident."""
        odds = _MEANT + _MEANT_ALIKE * self.similarity
        odds += _MEANT_GAP * min(max(self.gap, -2.0), 6.0) + _MEANT_EXTRA_WORD * self.extra_words
        return not self.freely_the_same and odds < TALK_ODDS

    @property
    def lone_word_in_noise(self) -> bool:
        """One word, and loud surroundings."""
        clear = self.freely_the_same and self.margin >= CLEAR_WORD_NATS
        return len(self.normal.split()) == 1 and self.noise > LOUD_FOR_ONE_WORD and not clear


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
    odds = _CONSTANT - _CAUTION
    odds += _A_NAT_OF_MARGIN * min(evidence.margin, _MOST_MARGIN)
    odds += _A_NAT_OF_GAP * min(max(evidence.gap, 0.0), _MOST_GAP)
    odds += _A_NAT_OF_PACE * max(evidence.pace_nats, -_MOST_PACE)
    odds += _AN_UNMATCHED_LETTER * min(evidence.unmatched, _MOST_UNMATCHED)
    odds += _NOISE * evidence.noise
    odds += _FREELY_THE_SAME * evidence.freely_the_same
    if len(evidence.normal.split()) == 1:
        odds += _A_SINGLE_WORD
    confidence = 1.0 / (1.0 + math.exp(-odds))
    if evidence.near or evidence.unlike or evidence.lone_word_in_noise:
        confidence = min(confidence, NEAR_CONFIDENCE)
    if not evidence.readable:
        confidence = min(confidence, UNREAD_CONFIDENCE)
    return round(confidence, 3), _reasons(evidence)


def _reasons(evidence: Evidence) -> tuple[str, ...]:
    """What speaks against the words, the weightiest first."""
    against = {
        f"it could also be '{evidence.rival}'": _A_NAT_OF_MARGIN * (5.0 - evidence.margin),
        "more was said than these words account for": -_A_NAT_OF_PACE * evidence.pace_nats,
        "the words fit the sound poorly": -_A_NAT_OF_GAP * evidence.gap,
        "part of what was said is not in these words": -_AN_UNMATCHED_LETTER
        * min(evidence.unmatched, _MOST_UNMATCHED),
        "the surroundings are loud": -_NOISE * evidence.noise,
        "the words cannot be read": 0.0 if evidence.readable else 9.0,
    }
    weighty = sorted((w, reason) for reason, w in against.items() if w > 0.5)
    return tuple(reason for _, reason in reversed(weighty))
