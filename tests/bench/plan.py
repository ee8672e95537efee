"""Which sounds a recognition bench hears: phrase, voice and surroundings of each, in order."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import islice
from typing import ClassVar, Protocol

from dictation.audio.samples import Samples
from dictation.errors import MissingError
from grammar.parse import parse
from tests.bench.alike import alike
from tests.bench.breadth import wide
from tests.bench.chatter import chatter
from tests.bench.conditions import CONDITIONS, condition, heard_in, noise_alone
from tests.bench.phrases import phrases
from tests.bench.speech import missing_engines, spoken
from tests.bench.voices import DEBIAN_ENGINES, Split, Voice, voice, voices_of

FULL_PHRASES = 1000
FULL_CHATTER = 2400  # two hours of it, at about 3 s each
SMALL = 132
CHATTER_SHARE = 5  # one sentence of chatter for so many phrases
NOISE_SHARE = 6  # of chatter items, one is noise with nobody speaking
NOISE_S = 6.0


class BenchSound(Protocol):
    """What a bench hears: words in surroundings, or what is not for us."""

    @property
    def kind(self) -> str: ...
    @property
    def words(self) -> str: ...
    @property
    def voice(self) -> str: ...
    @property
    def condition(self) -> str: ...
    @property
    def for_us(self) -> bool:
        """Whether ``words`` are to be heard; otherwise nothing is."""

    @property
    def after(self) -> str:
        """Words that the session heard before; '' in the middle of an exam."""

    @property
    def key(self) -> str:
        """Tells it from every other sound of the bench."""

    def samples(self) -> Samples:
        """The sound itself, mono float32 at 16 kHz."""


@dataclass(frozen=True, slots=True)
class Sound:
    """One sound of the bench. ``kind``: phrase, chatter or noise (then without words or voice)."""

    kind: str
    words: str
    voice: str
    condition: str
    split: Split
    number: int
    after: ClassVar[str] = ""

    @property
    def for_us(self) -> bool:
        """Whether it is to be heard."""
        return self.kind == "phrase"

    @property
    def key(self) -> str:
        """Tells it from every other sound of the bench."""
        return f"{self.split}/{self.kind}/{self.number}/{self.voice}/{self.condition}/{self.words}"

    def samples(self) -> Samples:
        """The sound itself. The first time this runs a synthesiser, later it reads the cache."""
        if self.kind == "noise":
            return noise_alone(NOISE_S, self.split, self.key)
        speech = spoken(self.words, voice(self.voice))
        return heard_in(speech, condition(self.condition), self.split, self.key)


MORNING, WIDE, ALIKE = "morning", "wide", "alike"
DRAWN = {MORNING: phrases, WIDE: wide}
"""Where phrases come from: a morning's work, or every word of the language about as often."""


def plan(size: str, split: Split, said: str = MORNING) -> list[Sound]:
    """The sounds of a size: 'small', 'full' or a number of phrases.

    ``said``: MORNING, WIDE, or ALIKE, phrases with one that sounds like them, not ours if need be.

    Small uses Debian's voices only. Full has every phrase in every condition; other sizes give each
    phrase one condition, so that all voices meet all conditions in turn.
    """
    there = voices_here(split, DEBIAN_ENGINES if size == "small" else None)
    count = {"small": SMALL, "full": FULL_PHRASES}.get(size) or int(size)
    if said == ALIKE:
        return _sounding_alike(count, there, split)
    words = list(islice(DRAWN[said](split), count))
    if size == "full":
        ours = [s for n, w in enumerate(words) for s in _everywhere(n, w, there, split)]
    else:
        ours = [_turn("phrase", n, w, there, split) for n, w in enumerate(words)]
    talk = FULL_CHATTER if size == "full" else -(-count // CHATTER_SHARE)
    return [*ours, *_talk(talk, there, split)]


def _sounding_alike(count: int, there: tuple[Voice, ...], split: Split) -> list[Sound]:
    """Each phrase of each pair by one voice after another, until there are so many."""
    words = list(dict.fromkeys(w for pair in alike() for w in (pair.one, pair.other)))
    kinds = {w: "phrase" if parse(w).said else "chatter" for w in words}
    # one voice more in each round: no voice keeps its phrases
    turns = ((n + n // len(words), words[n % len(words)]) for n in range(count))
    return [_turn(kinds[w], turn, w, there, split) for turn, w in turns]


def voices_here(split: Split, engines: frozenset[str] | None = None) -> tuple[Voice, ...]:
    """The voices of one side whose synthesisers are here. Raises MissingError without any."""
    lacking = missing_engines()
    there = tuple(v for v in voices_of(split, engines) if v.engine not in lacking)
    if not there:
        raise MissingError(
            "No speech synthesiser is on this machine: install flite and espeak-ng to run this."
        )
    return there


def _turn(kind: str, number: int, words: str, there: tuple[Voice, ...], split: Split) -> Sound:
    speaker, by_turn = in_turn(number, there, [c.name for c in CONDITIONS])
    return Sound(kind, words, speaker.name, by_turn, split, number)


def in_turn(number: int, there: Sequence[Voice], conditions: Sequence[str]) -> tuple[Voice, str]:
    """Voices in turn; in each round every voice has the condition before its last one."""
    round_, place = divmod(number, len(there))
    return there[place], conditions[(place - round_) % len(conditions)]


def _everywhere(number: int, words: str, there: tuple[Voice, ...], split: Split) -> Iterator[Sound]:
    speaker = there[number % len(there)]
    for one in CONDITIONS:
        yield Sound("phrase", words, speaker.name, one.name, split, number)


def _talk(count: int, there: tuple[Voice, ...], split: Split) -> Iterator[Sound]:
    sentences = chatter(split)
    for number in range(count):
        if number % NOISE_SHARE == NOISE_SHARE - 1:
            yield Sound("noise", "", "", "noise alone", split, number)
        else:
            yield _turn("chatter", number, next(sentences), there, split)
