"""Does a confidence of 0.9 mean nine right in ten? Table and curve of one engine's hearings."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

import numpy as np
from rich.table import Table

from dictation.recognition.protocol import Outcome
from tests.bench.hearing import Taken
from tests.bench.intervals import Share

EDGES = (0.0, 0.2, 0.4, 0.6, 0.7, 0.8, 0.9, 0.95, 0.98, 1.0)
"""Edges of the bins; the last bin holds 1 too."""

THRESHOLDS = (0.5, 0.7, 0.8, 0.9, 0.95, 0.98, 0.99)


@dataclass(frozen=True, slots=True)
class Bin:
    """Hearings with a confidence from ``low`` to ``high``, their mean, and how many were right."""

    low: float
    high: float
    mean: float
    right: Share


def understood(taken: Sequence[Taken]) -> list[Taken]:
    """Hearings that were read as something: only for these is there a confidence to judge."""
    return [t for t in taken if t.outcome is Outcome.HEARD and any(d.heard for d in t.differences)]


def bins(taken: Sequence[Taken]) -> list[Bin]:
    """The understood hearings by confidence; empty bins left out."""
    found: list[Bin] = []
    for low, high in pairwise(EDGES):
        inside = [
            t
            for t in understood(taken)
            if low <= t.confidence < high or t.confidence == high == EDGES[-1]
        ]
        if inside:
            mean = sum(t.confidence for t in inside) / len(inside)
            right = Share(sum(t.all_right for t in inside), len(inside))
            found.append(Bin(low, high, mean, right))
    return found


def expected_error(taken: Sequence[Taken]) -> float:
    """Mean distance of confidence and share right over the bins, weighted by their hearings."""
    all_bins = bins(taken)
    total = sum(b.right.total for b in all_bins)
    return sum(abs(b.mean - b.right.value) * b.right.total for b in all_bins) / max(1, total)


def reliability_table(taken: Sequence[Taken], engine: str) -> Table:
    """Confidence against share of phrases right."""
    error = expected_error(taken)
    title = f"{engine}, reliability of confidence (expected calibration error {error:.3f})"
    table = Table(title=title, title_justify="left")
    for name in ("confidence", "hearings", "mean confidence", "phrases right"):
        table.add_column(name)
    for one in bins(taken):
        edges = f"{one.low:.2f} to {one.high:.2f}"
        table.add_row(edges, str(one.right.total), f"{one.mean:.3f}", str(one.right))
    return table


def threshold_table(taken: Sequence[Taken], engine: str) -> Table:
    """What would be taken unasked, and how much of it would be right, were confidence all."""
    table = Table(title=f"{engine}, confidence as the only ground for asking", title_justify="left")
    for name in ("ask below", "taken unasked", "of these right"):
        table.add_column(name)
    known = understood(taken)
    for threshold in THRESHOLDS:
        sure = [t for t in known if t.confidence >= threshold]
        right = Share(sum(t.all_right for t in sure), len(sure))
        table.add_row(f"{threshold:.2f}", str(Share(len(sure), len(known))), str(right))
    return table


def draw_curve(taken: Sequence[Taken], path: Path, title: str) -> None:
    """The curve as PNG."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    known = bins(taken)
    figure = Figure(figsize=(5, 5), layout="constrained")
    FigureCanvasAgg(figure)
    axes = figure.add_subplot()
    axes.plot([0, 1], [0, 1], color="grey", linewidth=1, label="as good as its word")
    shares = np.array([b.right.value for b in known])
    limits = np.array([b.right.interval() for b in known]).reshape(-1, 2)
    spread = np.abs(limits.T - shares)
    means = [b.mean for b in known]
    axes.errorbar(means, shares, yerr=spread, marker="o", capsize=3, label="measured, 95 %")
    axes.set_xlabel("confidence")
    axes.set_ylabel("share of phrases right")
    axes.set_title(title, fontsize=9)
    axes.legend(loc="upper left")
    figure.savefig(path, dpi=120)
