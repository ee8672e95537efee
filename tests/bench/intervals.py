"""Shares with their uncertainty."""

from __future__ import annotations

import math
from dataclasses import dataclass

Z_95 = 1.959963984540054
"""Two-sided 95 % quantile of the normal distribution."""


@dataclass(frozen=True, slots=True)
class Share:
    """``hits`` of ``total``."""

    hits: int
    total: int

    @property
    def value(self) -> float:
        """The share, 0 to 1; not a number where there is nothing."""
        return self.hits / self.total if self.total else math.nan

    def interval(self) -> tuple[float, float]:
        """The 95 % interval by Wilson's score method (Wilson, J. Am. Stat. Assoc. 22, 1927)."""
        if not self.total:
            return 0.0, 1.0
        n, p, zz = self.total, self.value, Z_95**2
        middle = (p + zz / (2 * n)) / (1 + zz / n)
        half = Z_95 / (1 + zz / n) * math.sqrt(p * (1 - p) / n + zz / (4 * n * n))
        return max(0.0, middle - half), min(1.0, middle + half)

    def __str__(self) -> str:
        if not self.total:
            return "-"
        low, high = self.interval()
        return f"{100 * self.value:.1f} ({100 * low:.1f}-{100 * high:.1f})"


def per_hour(events: int, hours: float) -> str:
    """A rate with its 95 % interval, events taken as Poisson (exact, by chi-square quantiles)."""
    from scipy.stats import chi2

    if hours <= 0:
        return "-"
    low = chi2.ppf(0.025, 2 * events) / 2 if events else 0.0
    high = chi2.ppf(0.975, 2 * events + 2) / 2
    return f"{events / hours:.1f} ({low / hours:.1f}-{high / hours:.1f})"
