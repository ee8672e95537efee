"""Sounds of real people and real noise for the bench, drawn from a folder of recordings.

The same folder and side always give the same list; each kind is shuffled, so that its first few
are a sample of it.
"""

from __future__ import annotations

import hashlib
import random
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from dictation.audio.samples import SAMPLE_RATE_HZ, Samples
from grammar.parse import parse, values_of
from tests.bench.joining import between_pauses, cut, joined, loudest_parts, stands_out_db
from tests.bench.real_recordings import Recording, recordings
from tests.bench.speech import BEFORE_S, BEHIND_S
from tests.bench.voices import Split

TAG, ACCENT_TAG, SIDE, OWN_WORD = "tag", "accent tag", "side", "own word"
FOREIGN_WORD, TALK, ANIMAL, NOISE = "foreign word", "talk", "animal", "noise"
OURS = (TAG, ACCENT_TAG, SIDE, OWN_WORD)
NOT_OURS = (FOREIGN_WORD, TALK, ANIMAL, NOISE)
KINDS = (*OURS, *NOT_OURS)

DIGITS = frozenset("zero one two three four five six seven eight nine".split())  # noqa: SIM905
SIDES = frozenset({"left", "right"})
ANIMALS = frozenset("bee birds chicken cow kitten miaowing panda pig rat sheep".split())  # noqa: SIM905
GAP_S = (0.08, 0.2)
NOTHING_SAID_DB = 10.0
"""A word that stands out of its recording by less is none that a person could hear there: about
one in a hundred recordings is empty or all hum."""
TAGS_OF_MANY, MANY_DIGITS = 3, 4  # so many tags by whoever has so many digits
TAGS_BY_ACCENT = 30
MOST_OF_A_NOISE = 8  # parts, so that one long recording does not outweigh the others
TALK_S, READING_S = (1.0, 8.0), (2.0, 8.0)
NOISE_PARTS_S = (1.0, 2.0, 3.0, 4.0)


@dataclass(frozen=True, slots=True)
class Part:
    """A stretch of a recording, s; None: to its end."""

    recording: Recording
    from_s: float = 0.0
    until_s: float | None = None

    def samples(self) -> Samples:
        """The stretch itself."""
        whole = self.recording.samples()
        return cut(whole, self.from_s, self.until_s or len(whole) / SAMPLE_RATE_HZ)


@dataclass(frozen=True, slots=True)
class RealSound:
    """One sound nobody synthesised: parts, joined at the gaps where there are several.

    ``words``: '' where it is not for us. ``voice``: the speaker, or the file where that is unknown.
    ``condition``: what tells sounds of a kind apart.
    """

    kind: str
    words: str
    voice: str
    condition: str
    split: Split
    parts: tuple[Part, ...]
    gaps_s: tuple[float, ...] = ()

    @property
    def after(self) -> str:
        """A bare tag names an animal where the last one is done with."""
        return "next" if self.kind in {TAG, ACCENT_TAG} else ""

    @property
    def for_us(self) -> bool:
        """Whether it is to be heard."""
        return self.kind in OURS

    @property
    def key(self) -> str:
        """Tells it from every other sound of the bench."""
        named = "+".join(f"{p.recording.name}@{p.from_s:.2f}" for p in self.parts)
        return f"{self.split}/{self.kind}/{self.voice}/{self.words}/{named}"

    def samples(self) -> Samples:
        """Mono float32 at 16 kHz, as loud as it was, with silence around it."""
        sounds = [part.samples() for part in self.parts]
        whole = joined(sounds, self.gaps_s) if self.gaps_s else sounds[0]
        around = round(BEFORE_S * SAMPLE_RATE_HZ), round(BEHIND_S * SAMPLE_RATE_HZ)
        return np.pad(whole, around)


def real_sounds(folder: Path, split: Split, kinds: Iterable[str] = KINDS) -> list[RealSound]:
    """The sounds of these kinds. Raises MissingError where the folder holds no recordings."""
    every = recordings(folder, split)
    found: list[RealSound] = []
    for kind in kinds:
        by_key = {sound.key: sound for sound in MADE_BY[kind](every, split)}
        found += [by_key[key] for key in sorted(by_key, key=_number)]
    return found


def _tags(every: Sequence[Recording], split: Split) -> Iterator[RealSound]:
    for speaker, digits in _digits_of(every, "words"):
        for turn in range(TAGS_OF_MANY if len(digits) >= MANY_DIGITS else 1):
            yield _tag(TAG, speaker, digits, split, turn)


def _accent_tags(every: Sequence[Recording], split: Split) -> Iterator[RealSound]:
    for speaker, digits in _digits_of(every, "digits"):
        for turn in range(TAGS_BY_ACCENT):
            yield _tag(ACCENT_TAG, speaker, digits, split, turn)


Digits = dict[str, list[Recording]]


def _digits_of(every: Sequence[Recording], what: str) -> list[tuple[str, Digits]]:
    """Speakers, and their recordings by digit."""
    found: dict[str, Digits] = defaultdict(lambda: defaultdict(list))
    for one in every:
        if one.what == what and one.text in DIGITS and _is_said(one):
            found[one.speaker][one.text].append(one)
    return sorted(found.items())


def _tag(kind: str, speaker: str, digits: Digits, split: Split, turn: int) -> RealSound:
    """Three to five digits: none twice where they suffice, else none twice running where two do."""
    rng = random.Random(_number(f"{kind}/{speaker}/{turn}"))
    length = rng.randint(3, max(3, min(5, len(digits))))
    said: list[str] = []
    while len(said) < length:
        left = sorted(digits.keys() - set(said)) or sorted(digits.keys() - {said[-1]})
        said.append(rng.choice(left or sorted(digits)))
    parts = tuple(Part(rng.choice(digits[digit])) for digit in said)
    gaps_s = tuple(round(rng.uniform(*GAP_S), 3) for _ in said[1:])
    mixed = "several digits" if len(digits) > 1 else "one digit repeated"
    return RealSound(kind, " ".join(said), speaker, mixed, split, parts, gaps_s)


def _words(kind: str, wanted: Callable[[str], bool]) -> Maker:
    """Single words for which ``wanted`` holds."""

    def made(every: Sequence[Recording], split: Split) -> Iterator[RealSound]:
        for one in every:
            if one.what == "words" and wanted(one.text) and _is_said(one):
                words = one.text if kind in OURS else ""
                yield RealSound(kind, words, one.speaker, one.text, split, (Part(one),))

    return made


def _is_said(one: Recording) -> bool:
    """Digits apart: those are cut so closely that no quiet is left in them."""
    return one.what == "digits" or stands_out_db(one.samples()) >= NOTHING_SAID_DB


def _is_own(word: str) -> bool:
    return values_of(word) is not None


def _is_foreign(word: str) -> bool:
    """Neither a number nor a side, nor the beginning of a phrase, which would be waited for."""
    unread = parse(word).unread
    begins = unread is not None and unread.at >= len(word)
    return unread is not None and not begins and word not in DIGITS | SIDES


def _talk(every: Sequence[Recording], split: Split) -> Iterator[RealSound]:
    for one in every:
        if one.what in {"orders", "reading"}:
            limits_s = TALK_S if one.what == "orders" else READING_S
            for stretch in between_pauses(one.samples(), *limits_s):
                yield _piece(TALK, one, stretch, one.what, split)


def _noises(kind: str) -> Maker:
    """Loud parts of noise files, one to four seconds: of animals, or of everything else."""

    def made(every: Sequence[Recording], split: Split) -> Iterator[RealSound]:
        for one in every:
            if one.what == "noise" and _is_animal(one) == (kind == ANIMAL):
                part_s = NOISE_PARTS_S[_number(one.name) % len(NOISE_PARTS_S)]
                for stretch in loudest_parts(one.samples(), part_s)[:MOST_OF_A_NOISE]:
                    yield _piece(kind, one, stretch, one.text, split)

    return made


def _is_animal(noise: Recording) -> bool:
    return any(animal in noise.text for animal in ANIMALS)


def _piece(
    kind: str, one: Recording, stretch: tuple[float, float], what: str, split: Split
) -> RealSound:
    return RealSound(kind, "", one.speaker or one.name, what, split, (Part(one, *stretch),))


def _number(text: str) -> int:
    return int.from_bytes(hashlib.sha256(text.encode()).digest()[:8], "big")


Maker = Callable[[Sequence[Recording], Split], Iterator[RealSound]]

MADE_BY: dict[str, Maker] = {
    TAG: _tags,
    ACCENT_TAG: _accent_tags,
    SIDE: _words(SIDE, SIDES.__contains__),
    OWN_WORD: _words(OWN_WORD, _is_own),
    FOREIGN_WORD: _words(FOREIGN_WORD, _is_foreign),
    TALK: _talk,
    ANIMAL: _noises(ANIMAL),
    NOISE: _noises(NOISE),
}
"""Kind of sound: what draws it from the recordings of a side."""
