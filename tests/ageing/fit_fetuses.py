"""``python -m tests.ageing.fit_fetuses``: the late curves fitted to measured fetuses, and how well.

``fetal_sizes.csv`` holds the fetuses and their source. Fetuses from day 38 on count; before it two
are plainly misdated (54 mm at day 37, 75 mm at day 25). The error is cross-validated ten-fold: each
fetus is aged by a curve that has not seen it.
"""

from __future__ import annotations

import csv
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from grammar.ageing.curves import CROWN_RUMP_EARLY, OTHER_LENGTH_RULE
from grammar.ageing.estimate import AgeEstimate
from grammar.ageing.measured import age_from_measurement
from grammar.findings import Quantity

Numbers = NDArray[np.float64]
FIRST_DAY, LAST_HEAD_DAY = 38, 165
FOLDS = 10
BANDS = ((38, 60), (60, 80), (80, 100), (100, 120), (120, 140), (140, 166), (166, 200), (200, 240))
OLDER_RULES: dict[str, Callable[[Numbers], Numbers]] = {
    "2.5 x (cm + 21), from memory": lambda cm: 2.5 * (cm + 21),
    "54.6 + 2.46 cm, Richardson et al. 1990, from memory": lambda cm: 54.6 + 2.46 * cm,
}


@dataclass(frozen=True, slots=True)
class Fetuses:
    """Age in days, crown-rump length in cm, head width in mm, one element a fetus."""

    age_days: Numbers
    crown_rump_cm: Numbers
    head_width_mm: Numbers

    def where(self, chosen: NDArray[np.bool_]) -> Fetuses:
        """Some of them."""
        return Fetuses(
            self.age_days[chosen], self.crown_rump_cm[chosen], self.head_width_mm[chosen]
        )


def fetuses() -> Fetuses:
    """All of them, by age."""
    path = Path(__file__).with_name("fetal_sizes.csv")
    lines = [line for line in path.read_text().splitlines() if not line.startswith("#")]
    rows = list(csv.DictReader(lines))
    names = ("age_days", "crown_rump_cm", "head_width_mm")
    return Fetuses(*(np.array([float(row[name]) for row in rows]) for name in names))


def lengths() -> tuple[Numbers, Numbers]:
    """Crown-rump lengths in cm and ages, from day 38."""
    found = fetuses()
    used = found.where(found.age_days >= FIRST_DAY)
    return used.crown_rump_cm, used.age_days


def heads(last_day: int = LAST_HEAD_DAY) -> tuple[Numbers, Numbers]:
    """Head widths in mm and ages, from day 38 to ``last_day``."""
    found = fetuses()
    used = found.where((found.age_days >= FIRST_DAY) & (found.age_days <= last_day))
    return used.head_width_mm, used.age_days


def root(size: Numbers) -> Numbers:
    """The terms of the length curve: 1, square root, size."""
    return np.column_stack([np.ones_like(size), np.sqrt(size), size])


def line(size: Numbers) -> Numbers:
    """The terms of the head curve: 1, size."""
    return np.column_stack([np.ones_like(size), size])


def fitted(terms: Callable[[Numbers], Numbers], size: Numbers, age: Numbers) -> Numbers:
    """Coefficients by least squares."""
    return np.asarray(np.linalg.lstsq(terms(size), age, rcond=None)[0], dtype=np.float64)


def cross_validated(terms: Callable[[Numbers], Numbers], size: Numbers, age: Numbers) -> Numbers:
    """The age of each by the curve through the other nine tenths; which tenth goes by turns."""
    tenth = np.arange(len(age)) % FOLDS
    reckoned: Numbers = np.zeros(len(age), dtype=np.float64)
    for fold in range(FOLDS):
        rest = tenth != fold
        reckoned[~rest] = terms(size[~rest]) @ fitted(terms, size[rest], age[rest])
    return reckoned


def penn_errors() -> tuple[Numbers, Numbers]:
    """True less reckoned age of fetuses of 20 to 60 mm: by the Penn points, by the other rule."""
    found = fetuses()
    small = (found.crown_rump_cm >= 2) & (found.crown_rump_cm <= 6)
    small &= ~((found.age_days < FIRST_DAY) & (found.crown_rump_cm > 5))
    used = found.where(small)
    early = [CROWN_RUMP_EARLY.age_days(cm * 10) for cm in used.crown_rump_cm]
    covered = used.crown_rump_cm * 10 <= OTHER_LENGTH_RULE.high_mm
    other = [OTHER_LENGTH_RULE.age_days(cm * 10) for cm in used.crown_rump_cm[covered]]
    return used.age_days - np.array(early), used.age_days[covered] - np.array(other)


def by_the_tool(quantity: Quantity, sizes_mm: Numbers) -> list[AgeEstimate]:
    """What the tool makes of these sizes; a size without an age is a mistake."""
    ages = [age_from_measurement(quantity, float(size)) for size in sizes_mm]
    assert all(isinstance(age, AgeEstimate) for age in ages)
    return [age for age in ages if isinstance(age, AgeEstimate)]


def _report(name: str, size: Numbers, age: Numbers, terms: Callable[[Numbers], Numbers]) -> None:
    reckoned = cross_validated(terms, size, age)
    error = age - reckoned
    print(f"{name}: {len(age)} fetuses, {np.round(fitted(terms, size, age), 4)}")
    print(f"  SD {error.std():.1f} d, 95 % within {np.quantile(abs(error), 0.95):.1f} d")
    for low, high in BANDS:
        inside = error[(age >= low) & (age < high)]
        if len(inside):
            spread = np.quantile(abs(inside), 0.95)
            print(f"  day {low} to {high}: {len(inside)}, 95 % within {spread:.1f} d")


def main() -> None:
    """Print the fits, their errors by age, and the older rules on the same fetuses."""
    cm, age = lengths()
    _report("crown-rump, root", cm, age, root)
    _report("head width, line", *heads(), line)
    for name, rule in OLDER_RULES.items():
        bias = rule(cm[cm >= 8]) - age[cm >= 8]
        print(f"{name}: {bias.mean():+.1f} d, {bias[cm[cm >= 8] > 60].mean():+.1f} d over 60 cm")
    early, other = penn_errors()
    print(
        f"Penn points, {len(early)} of 20-60 mm: {early.mean():+.1f} d, SD {early.std(ddof=1):.1f}"
    )
    print(f"other rule, {len(other)} to 50 mm: {other.mean():+.1f} d, SD {other.std(ddof=1):.1f}")


if __name__ == "__main__":
    main()
