"""The table of what is said: kind, spoken and written form of each sentence, one a line.

Trade phrases come from ``phrases``, talk from ``talk``. The spoken form is what a synthesiser is
given, the written form what the model is to write.
"""

from __future__ import annotations

import random
from dataclasses import dataclass
from pathlib import Path

from tests.training.corpus import TALK, TRADE
from tests.training.phrases import draw, is_validation
from tests.training.surface import agrees, shape, spoken, written
from tests.training.talk import talk
from tests.training.yard import calls


@dataclass(frozen=True, slots=True)
class Sentence:
    """``kind``: trade or talk. ``normal``: the words; ``validation``: never trained on."""

    kind: str
    normal: str
    spoken: str
    written: str
    validation: bool


def read_sentences(path: Path) -> list[Sentence]:
    """The table of a file."""
    lines = path.read_text(encoding="utf-8").splitlines()
    return [_sentence(*line.split("\t")) for line in lines]


def _sentence(kind: str, normal: str, said: str, text: str) -> Sentence:
    return Sentence(kind, normal, said, text, is_validation(normal))


def _trade(normal: str, rng: random.Random) -> str | None:
    shaped = shape(normal, rng)
    text = written(shaped, rng)
    return "\t".join((TRADE, normal, spoken(shaped), text)) if agrees(normal, text) else None


def write_sentences(phrases: int, amount: int, called: int, seed: int, path: Path) -> None:
    """Write the table: so many trade phrases, but for those that do not read back; talk; calls."""
    rng = random.Random(seed)
    lines = [line for normal in draw(phrases, seed) if (line := _trade(normal, rng)) is not None]
    lines += ["\t".join((TALK, s.lower(), s, s)) for s in talk(amount, seed)]
    lines += ["\t".join((TALK, s.lower(), s, s)) for s in calls(called, seed)]
    rng.shuffle(lines)
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
