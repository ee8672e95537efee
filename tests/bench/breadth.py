"""Phrases that meet every word of the exam's language about as often, seldom ones too.

``grammar.sample`` draws what a morning is made of. What is said once a week it hardly meets, and
what vets say in other words than the first not at all: those come from walks over the grammar, word
after word, the word met least the likeliest, and from the list of what vets say.
"""

from __future__ import annotations

import random
import re
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

from grammar.findings import Command, OvarianStructure, Ovary
from grammar.normalise import normalise
from grammar.numbers import TEENS, TENS, UNITS, ZERO
from grammar.parse import parse, parser_in_force
from grammar.plausible import of_ovary
from grammar.vocabulary import in_force
from tests.bench.phrases import SEED, side_of
from tests.bench.voices import Split

LISTS = sorted(Path(__file__).parents[1].glob("grammar/usage*.txt"))
LONGEST = 8
ENDS_SHARE = 0.4
NUMBERS = frozenset((*UNITS, *TEENS, *TENS, *ZERO, "hundred", "point", "double", "and"))
NUMBERS_SHARE = 0.3


def walks(rng: random.Random) -> Iterator[str]:
    """Phrases with one reading, in normalised words, without end."""
    met: Counter[str] = Counter()
    while True:
        phrase = _walk(rng, met)
        if phrase is not None:
            met.update(phrase.split())
            yield phrase


def usual() -> tuple[str, ...]:
    """What vets say, in normalised words, as far as it is offered to the recogniser."""
    lines = (line for path in LISTS for line in path.read_text("utf-8").splitlines())
    said = (line.split("=>")[0].strip(" ?") for line in lines if "=>" in line)
    read = (parse(phrase) for phrase in said)
    normal = (reading.normal for reading in read if _is_sure(reading.normal))
    return tuple(dict.fromkeys(normal))


def wide(split: Split) -> Iterator[str]:
    """Phrases of one side, in turn of what vets say and of walks, without end."""
    rng = random.Random(SEED[split])
    said = [words for words in usual() if side_of(words) is split]
    walked = (words for words in walks(rng) if side_of(words) is split)
    rng.shuffle(said)
    for words in said:
        yield words
        yield next(walked)
    yield from walked


def _is_sure(normal: str) -> bool:
    reading = parse(normal)
    # what is read alone has one word, or stands for others: neither is offered to the recogniser
    return bool(
        reading.said
        and not reading.others
        and normalise(normal) not in in_force().alone.values()
        and not re.search(r"\bnote\b|\bremark\b|\bcomment\b", normal)
        and all(_could_be(said.what) for said in reading.said)
    )


def _could_be(what: object) -> bool:
    """A size that there is; anything else could be."""
    if isinstance(what, Ovary) and what.size_mm is not None:
        structures = of_ovary(what)
        return structures is None or structures.holds(what.size_mm)
    return not (isinstance(what, Ovary) and what.structure is OvarianStructure.NONE and what.count)


def _walk(rng: random.Random, met: Counter[str]) -> str | None:
    words: list[str] = []
    while len(words) < LONGEST:
        following = parser_in_force().next_words(" ".join(words))
        chosen = _chosen(following, rng, met)
        if chosen is None:
            return None
        words.append(chosen)
        normal = " ".join(words)
        if chosen not in NUMBERS and rng.random() > ENDS_SHARE:
            continue
        if _is_sure(normal) and not any(
            isinstance(said.what, Command) and len(words) > 3 for said in parse(normal).said
        ):
            return normal
    return None


def _chosen(words: tuple[str, ...], rng: random.Random, met: Counter[str]) -> str | None:
    """One of the words; numbers together are as likely as their share."""
    numbers = [w for w in words if w in NUMBERS]
    others = [w for w in words if w not in NUMBERS]
    if numbers and (not others or rng.random() < NUMBERS_SHARE):
        return rng.choice(numbers)
    if not others:
        return None
    return rng.choices(others, [1 / (1 + met[w]) for w in others])[0]
