"""How a model is taught."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class How:
    """What moves, and how far.

    ``moving``: beginnings of the names of the weights that move; ``rate``: of learning, at its
    height; ``rank``: of the low-rank additions, 0 for the weights themselves; ``teacher``: weight
    of the teacher's opinion beside that of the words; ``warm_up``: steps until the rate is there.
    """

    moving: tuple[str, ...]
    rate: float
    rank: int = 0
    teacher: float = 0.5
    warm_up: int = 150
