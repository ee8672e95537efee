"""The figures of the small bench as they were recorded, and whether today's fall behind them.

The same sounds are compared one by one, so that only sounds that changed count: of these, fewer
must have got worse than chance would explain (sign test, one-sided).
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from dictation.errors import BadInputError
from tests.bench.hearing import Row

RECORDED = Path(__file__).parent / "recorded.json"
"""The figures that the tests compare with."""

CHANCE = 0.01
"""A change for the worse that chance brings less often than this is a failure."""


@dataclass(frozen=True, slots=True)
class Figures:
    """Of one sound: values said, heard right, stored wrong unasked; whether it was asked about."""

    said: int
    right: int
    silent: int
    asked: bool


@dataclass(frozen=True, slots=True)
class Comparison:
    """How sounds changed: got worse, got better; in values right and in silent errors."""

    compared: int
    worse_right: int
    better_right: int
    worse_silent: int
    better_silent: int

    def failures(self) -> tuple[str, ...]:
        """Sentences; empty where nothing fell beyond chance."""
        found: list[str] = []
        if _by_chance(self.worse_right, self.better_right) < CHANCE:
            found.append(
                f"values right fell in {self.worse_right} of {self.compared} sounds and rose in"
                f" {self.better_right}."
            )
        if _by_chance(self.worse_silent, self.better_silent) < CHANCE:
            found.append(
                f"values stored wrong unasked rose in {self.worse_silent} of {self.compared}"
                f" sounds and fell in {self.better_silent}."
            )
        return tuple(found)


def figures_of(row: Row, engine: str) -> Figures:
    """Figures of one sound. For chatter, a sound stored is one silent error."""
    taken = row.taken[engine]
    if row.sound.kind != "phrase":
        return Figures(0, 0, int(taken.stored), taken.asked)
    said = [d for d in taken.differences if d.said]
    right = sum(d.right for d in said)
    return Figures(len(said), right, len(taken.silently_wrong), taken.asked)


def compare(recorded: dict[str, Figures], now: dict[str, Figures]) -> Comparison:
    """Sound by sound, those that are in both."""
    both = [(recorded[key], now[key]) for key in recorded if key in now]
    return Comparison(
        len(both),
        sum(new.right < old.right for old, new in both),
        sum(new.right > old.right for old, new in both),
        sum(new.silent > old.silent for old, new in both),
        sum(new.silent < old.silent for old, new in both),
    )


def write_recorded(path: Path, rows: Iterable[Row], engine: str, measured: str) -> None:
    """Record figures. ``measured``: when and on what."""
    sounds = {row.sound.key: _record(figures_of(row, engine)) for row in rows}
    lines = ",\n".join(f"  {json.dumps(k)}: {json.dumps(v)}" for k, v in sounds.items())
    head = json.dumps(measured)
    order = json.dumps(["said", "right", "silent", "asked"])
    text = f'{{"measured": {head},\n "figures": {order},\n "sounds": {{\n{lines}\n }}\n}}\n'
    path.write_text(text, encoding="utf-8")


def read_recorded(path: Path = RECORDED) -> dict[str, Figures]:
    """Recorded figures by sound. Raises BadInputError."""
    try:
        sounds = json.loads(path.read_text(encoding="utf-8"))["sounds"]
        return {key: Figures(v[0], v[1], v[2], bool(v[3])) for key, v in sounds.items()}
    except (OSError, ValueError, KeyError, IndexError) as error:
        raise BadInputError(f"{path} holds no recorded figures: {error}.") from error


def _record(figures: Figures) -> Sequence[int]:
    return figures.said, figures.right, figures.silent, int(figures.asked)


def _by_chance(worse: int, better: int) -> float:
    """How often as many or more would get worse if worse and better were equally likely."""
    from scipy.stats import binom

    return float(binom.sf(worse - 1, worse + better, 0.5)) if worse else 1.0
