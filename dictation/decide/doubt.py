"""Whether what was heard is taken as sure, and if not, why. Decided once, when it is heard."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import replace
from datetime import date
from functools import cache

from dictation.decide.rivals import Rival, is_grave, out_of_range, worth_a_question
from dictation.recognition.confidence import ALIKE_SHARE, confidence_in, could_be
from dictation.recognition.protocol import Heard, Outcome
from dictation.recognition.speech import spoken_words
from grammar.findings import Reading
from grammar.normalise import normalise
from grammar.say import say_number
from grammar.vocabulary import built_in, in_force

ASK_BELOW = 0.8
"""Confidence below which the speaker is asked. Higher asks more often; lower lets more wrong
numbers through. Of the tune side's phrases 6.5 % in quiet are asked about, 12 by headset or in a
steel shed, 20 at 10 dB, 50 at 5 dB; above it 8 of 1,460 were wrong, and 4 of 320 tags by people."""

GRAVE_NATS = {1: 1.0, 2: 3.0, 3: 3.0}
"""Words that carry something grave are taken only where the untaught model finds its own no more
than this much better, nats a word, by how many they are: 'go' was heard as 'cull', 'thin cow' as
'in calf'. All 8 foreign words that were sure on the tune side were single; of 1,290 sure phrases
some 20 are asked about for it. More words than three do not come out of talk."""

FEW_NATS = {1: 6.5, 2: 6.5, 3: 6.5}
"""The same for words that carry anything: 'left a bit' was heard as 'left ovary'."""

OFFERED = 2
"""Most readings of other values that a question offers beside the best: three can be kept in mind
while scanning."""

OFFERED_NATS = 6.0
"""A hearing this far behind the best is not offered: one in four hundred. A question about a number
that is out of range, but was surely heard, is then answered with 'yes'."""

NUMBER_WORDS = frozenset(
    """
    one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen sixteen
    seventeen eighteen nineteen twenty thirty forty fifty sixty seventy eighty ninety hundred
    """.split()  # noqa: SIM905
)

KNOWN_WORDS = 2
"""Unreadable words with at least this many of the trade, and at least WRITTEN_SHARE (of a free
hearing FREE_SHARE) of the trade, not counting those that everybody uses, are asked about; the rest
is taken for talk that was not meant for us. Fewer asks at every chat."""
WRITTEN_SHARE, FREE_SHARE = 0.5, 0.66
"""With a half, 75 of 600 tuning sounds of chatter heard freely were asked about for 4 of 3,000
phrases; with two thirds 18, for the same 4."""

_COMMON = frozenset(
    """
    a an and at be by do for go got has have her his i in is it me my of off on one or out she
    so some that the them then there this to up was we what with you your not no yes right
    left point oh first second last next all back see say over more
    is or between gone along time today tomorrow come month this these well get some bit
    since times last found new
    let lot getting cannot now ago number half start stop keep put take make good bad clear clean
    dry small big large other side
    """.split()  # noqa: SIM905 - a list of words reads best as words
)
"""Words that everybody uses; they say nothing of whom the speech was meant for."""


def doubted(heard: Heard, *reasons: str) -> Heard:
    """The same, to be asked about whatever it says."""
    confidence = min(heard.confidence, ASK_BELOW / 2)
    return replace(heard, confidence=confidence, odds=None, reasons=reasons)


def doubts_of_heard(
    heard: Heard, reading: Reading | None, near: Rival | None, on: date
) -> tuple[str, ...]:
    """Why an utterance is not taken as sure; empty where it is.

    ``near``: the nearest reading that is worth a question.
    """
    if heard.outcome is Outcome.NOT_OUR_LANGUAGE:
        return _like_ours(heard.free_text, FREE_SHARE)
    if heard.outcome is Outcome.FAILED:
        return heard.reasons
    if heard.outcome is not Outcome.HEARD or reading is None:
        return ()
    doubts = doubts_of_reading(reading, on)
    if reading.unread is None and confidence_beside(heard, near) < ASK_BELOW:
        doubts = (*_reasons(heard, near), *doubts)
    return (*doubts, *_other_words(heard, reading))


def confidence_beside(heard: Heard, near: Rival | None) -> float:
    """The chance that the best words are right, where this is all that may have been meant too."""
    if heard.odds is None:
        return heard.confidence
    if near is None:
        return confidence_in(heard.odds, math.inf)
    alike = alike_in(heard.hypotheses[0].normal, near.normal)
    return confidence_in(heard.odds, near.nats * (ALIKE_SHARE if alike else 1.0))


def _reasons(heard: Heard, near: Rival | None) -> tuple[str, ...]:
    rivals = {could_be(h.normal) for h in heard.hypotheses}
    reasons = tuple(reason for reason in heard.reasons if reason not in rivals)
    if near is not None and near.normal and near.nats < OFFERED_NATS:
        reasons = (could_be(near.normal), *reasons)
    return reasons or ("the words are not certain",)


def _other_words(heard: Heard, reading: Reading) -> tuple[str, ...]:
    """Few words, where the model that knows no trade heard others, and much better."""
    unlike = None if heard.odds is None else heard.odds.unlike_nats
    grave = any(is_grave(said.what) for said in reading.said)
    count = spoken_words(heard.hypotheses[0].normal)
    most = (GRAVE_NATS if grave else FEW_NATS).get(count, math.inf)
    if unlike is None or unlike <= most:
        return ()
    return (f"it may also have been '{heard.free_text}'",)


def doubts_of_reading(reading: Reading, on: date) -> tuple[str, ...]:
    """Why words, however surely they were heard, are not taken as they are."""
    if reading.unread is not None:
        like = _like_ours(reading.normal, WRITTEN_SHARE)
        return (f"{reading.unread.sentence}",) if like else ()
    doubts: tuple[str, ...] = ()
    if any(worth_a_question(said, reading.said, on) for said in reading.others):
        doubts = ("the words can be read in two ways",)
    return (*doubts, *out_of_range(reading.said, on))


def _like_ours(text: str, share: float) -> tuple[str, ...]:
    words = [word for word in normalise(text).split() if word not in _COMMON]
    known = [word for word in words if word in _trade_words() or word.replace(".", "").isdigit()]
    if len(known) < KNOWN_WORDS or len(known) < share * len(words):
        return ()
    return ("it sounds like words for us, and cannot be read",)


@cache
def _built_in_words() -> frozenset[str]:
    forms = (form for forms in built_in().usual.values() for form in forms)
    words = {word for form in forms for word in form.split()}
    return frozenset((words | NUMBER_WORDS) - _COMMON)


def _trade_words() -> frozenset[str]:
    own = {word for form in in_force().own for word in form.split()}
    return _built_in_words() | (own - _COMMON) if own else _built_in_words()


# Stressed alike over a pump, thirteen is thirty; a lost first consonant makes fifty sixty and five
# nine. Common practice in spoken-number work, no source.
_PAIRS = ((13, 30), (14, 40), (15, 50), (16, 60), (17, 70), (18, 80), (19, 90), (50, 60), (5, 9))
SOUND_ALIKE: dict[str, tuple[str, ...]] = {}
for _pair in _PAIRS:
    for _one, _other in (tuple(map(say_number, _pair)), tuple(map(str, _pair))):
        SOUND_ALIKE[_one] = (*SOUND_ALIKE.get(_one, ()), _other)
        SOUND_ALIKE[_other] = (*SOUND_ALIKE.get(_other, ()), _one)

WRITTEN_FOR_NUMBERS = {
    "for": ("four",),
    "to": ("two",),
    "too": ("two",),
    "ate": ("eight",),
    "won": ("one",),
}
"""Words that an engine without our grammar writes where a number was said."""

DIGITS_ALIKE = frozenset(
    frozenset(pair) for pair in (("5", "9"), ("1", "9"), ("1", "7"), ("2", "3"), ("6", "8"))
)
"""Digits taken for each other in speech: five and nine, one and nine, one and seven, two and three,
six and eight. Our choice; it only orders what is offered."""


def swaps(
    normal: str, alike: Mapping[str, tuple[str, ...]] = SOUND_ALIKE
) -> Iterator[tuple[str, str, str]]:
    """Each phrase with one word, a number, made its neighbour in sound: (phrase, was, is)."""
    words = normal.split()
    for place, word in enumerate(words):
        for other in alike.get(word, ()):
            yield " ".join((*words[:place], other, *words[place + 1 :])), word, other


_NAMES = {str(number): say_number(number) for pair in _PAIRS for number in pair}


def _spelt(normal: str) -> list[str]:
    """The words; one hearing may write '40', another 'fourteen'."""
    return [_NAMES.get(word, word) for word in normal.split()]


def alike_in(one: str, other: str) -> tuple[str, str] | None:
    """The two numbers where the phrases differ in just one, and those sound alike."""
    ours, theirs = _spelt(one), _spelt(other)
    if len(ours) != len(theirs):
        return None
    apart = [(a, b) for a, b in zip(ours, theirs, strict=True) if a != b]
    if len(apart) == 1 and apart[0][1] in SOUND_ALIKE.get(apart[0][0], ()):
        return apart[0]
    return None
