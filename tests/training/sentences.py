"""The table of what is said: kind, spoken and written form of each sentence, one a line.

Trade phrases come from ``phrases``, talk from ``talk``. The spoken form is what a synthesiser is
given, the written form what the model is to write.

    python -m tests.training.sentences phrases.txt 8000 3 sentences.tsv
"""

from __future__ import annotations

import random
import sys
from dataclasses import dataclass
from pathlib import Path

from tests.training.corpus import TALK, TRADE
from tests.training.phrases import is_validation
from tests.training.surface import agrees, shape, spoken, written
from tests.training.talk import talk


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


def main() -> None:
    """Write the table: the phrases of a file, and as much talk as is asked for."""
    phrases, amount, seed = Path(sys.argv[1]), int(sys.argv[2]), int(sys.argv[3])
    rng = random.Random(seed)
    drawn = phrases.read_text(encoding="utf-8").splitlines()
    lines = [line for normal in drawn if (line := _trade(normal, rng)) is not None]
    print(f"{len(lines)} of {len(drawn)} phrases have a written form that reads back")
    lines += ["\t".join((TALK, s.lower(), s, s)) for s in talk(amount, seed)]
    rng.shuffle(lines)
    Path(sys.argv[4]).write_text("\n".join(lines) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
