"""How words are spoken: how long they take, whether they account for a voice, when each was said.

A guided decoder likes to say less than was said. Spoken letters for each voiced second hardly vary:
on 455 tuning phrases of 7 synthetic voices they lay between 10 and 24 (standard deviation within a
voice 13 %), on human recordings between 8.8 and 20.

The free hearing knows nothing of cattle: it writes 'left over E C L' for 'left ovary CL'. But where
words were left out or put in, it shows stretches of letters that the guided words do not have. So
both are reduced to a skeleton in which letters that sound alike are one, and compared.

The model gives no alignment: its attention is not among its outputs. So words are laid over the
voiced stretches of an utterance in proportion to how long each takes to say, counted in letters
(digits and initials as they are spoken). Against the timings of a synthetic voice (festival, 40
phrases, 179 words of known text) the edges of words were off by 0.06 s in the median, 0.19 s at the
95th percentile, 0.38 s at most; they are good for finding a word again, not for measuring.
"""

from __future__ import annotations

import difflib
import math
import re
from collections.abc import Sequence

from dictation.recognition.level import FRAME_S, Level, runs
from dictation.recognition.protocol import HeardWord
from grammar.normalise import normalise
from grammar.numbers import TEENS, TENS, UNITS
from grammar.say import say_number

NUMBER_WORDS = {"oh": 0, "zero": 0, **UNITS, **TEENS, **TENS}
#: Every word has some length beyond its letters: the pause and the rounding of its edges.
_LETTERS_A_WORD = 1.0
_LETTERS_AN_INITIAL = 3.0


def spoken_letters(word: str) -> float:
    """How long a normalised word takes to say, in letters of ordinary spelling."""
    if _initials(word):
        return _LETTERS_AN_INITIAL * len(word) + _LETTERS_A_WORD
    return sum(len(said) + _LETTERS_A_WORD for said in said_words(word))


def spoken_words(normal: str) -> int:
    """How many words are said: '22' is two, 'cl' is two."""
    return sum(len(word) if _initials(word) else len(said_words(word)) for word in normal.split())


def _initials(word: str) -> bool:
    """Whether a word is said letter by letter."""
    return len(word) <= 3 and not re.search(r"[aeiouy]|^[0-9.]+$", word)


def said_words(word: str) -> list[str]:
    """A word as spoken: a number as its words, tens as tens and everything longer digit by digit;
    anything else as it is."""
    if not re.fullmatch(r"[0-9.]+", word):
        return [word]
    if re.fullmatch(r"[1-9][0-9]?", word):
        return say_number(int(word)).split()
    return ["point" if digit == "." else say_number(int(digit)) for digit in word]


#: Spoken letters a voiced second of the slowest ordinary speech. Raising it forces more words on a
#: slow speaker; lowering it lets words go missing.
SLOWEST = 8.0
#: Of the fastest. Lowering it drops words of a quick speaker.
FASTEST = 32.0
#: How quickly belief fades outside that range, as a share of the pace.
_SPREAD = 0.2
#: Voiced time that may belong to no word (breath, a gate), seconds.
_STRAY_S = 0.15
#: Most that pace may weigh, nats; it must not outvote the sound altogether.
_MOST_NATS = 30.0


def pace_nats(text: str, voiced_s: float) -> float:
    """What the pace of a text speaks against it: 0 at an ordinary pace, down to -30 nats."""
    said = sum(map(spoken_letters, normalise(text).split()))
    slow = said / max(voiced_s - _STRAY_S, 0.05)
    fast = said / (voiced_s + _STRAY_S)
    if slow < SLOWEST:
        off = math.log(SLOWEST / max(slow, 0.1))
    elif fast > FASTEST:
        off = math.log(fast / FASTEST)
    else:
        return 0.0
    return -min(_MOST_NATS, 0.5 * (off / _SPREAD) ** 2)


_SOFT = re.compile(r"[aeiouyhw]+")
_ALIKE = str.maketrans("czdbgv", "kstpkf")


def skeleton(normal: str) -> str:
    """Letters of a normalised text as they sound, numbers spelt out, vowels all one."""
    letters = "".join(word for part in normal.split() for word in said_words(part))
    return _SOFT.sub("a", letters).translate(_ALIKE)


def similarity(guided: str, free: str) -> float:
    """Share of the two skeletons' letters that match, 0 to 1."""
    matcher = difflib.SequenceMatcher(None, skeleton(guided), skeleton(free), autojunk=False)
    return matcher.ratio()


def spread(normal: str, voiced_s: Sequence[tuple[float, float]]) -> tuple[HeardWord, ...]:
    """Lay the words of a normalised text over voiced stretches, given in seconds."""
    words = normal.split()
    lengths = [spoken_letters(w) for w in words]
    total = sum(lengths)
    spoken = 0.0
    placed: list[HeardWord] = []
    for word, length in zip(words, lengths, strict=True):
        at = _at(spoken / total, voiced_s, ends=False)
        spoken += length
        placed.append(HeardWord(word, at, _at(spoken / total, voiced_s, ends=True)))
    return tuple(placed)


def _at(share: float, voiced_s: Sequence[tuple[float, float]], ends: bool) -> float:
    """The second at which a share of the voiced time has passed; at a pause, its near side."""
    left = share * sum(until - at for at, until in voiced_s)
    for at, until in voiced_s:
        length = until - at
        if left < length - 1e-9 or (ends and left <= length + 1e-9):
            return round(at + max(left, 0.0), 3)
        left -= length
    return round(voiced_s[-1][1], 3)


def voiced_stretches(level: Level, seconds: float) -> list[tuple[float, float]]:
    """Voiced stretches in seconds; the whole utterance when none was found."""
    starts, ends = runs(level.voiced)
    found = [(float(a) * FRAME_S, float(b) * FRAME_S) for a, b in zip(starts, ends, strict=True)]
    return found or [(0.0, seconds)]
