"""A share with its uncertainty."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

# Two-sided 95 % point of the normal distribution.
_Z = 1.959963984540054


@dataclass(frozen=True, slots=True)
class Share:
    """``hits`` of ``total``; ``low`` and ``high`` bound it nineteen times in twenty.

    The interval is Wilson's (1927, J Am Stat Assoc 22:209-212): it stays within 0 and 1, and holds
    for few animals too. With no animal it is None.
    """

    hits: int
    total: int

    @property
    def value(self) -> float | None:
        """From 0 to 1."""
        return self.hits / self.total if self.total else None

    @property
    def interval(self) -> tuple[float, float] | None:
        """Low and high end, from 0 to 1."""
        if not self.total:
            return None
        share, total = self.hits / self.total, self.total
        middle = share + _Z**2 / (2 * total)
        half = _Z * sqrt(share * (1 - share) / total + _Z**2 / (4 * total**2))
        below = 1 + _Z**2 / total
        return max(0.0, (middle - half) / below), min(1.0, (middle + half) / below)
