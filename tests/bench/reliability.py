"""Does a confidence of 0.9 mean nine right in ten? Table and curve of one engine's hearings."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

from rich.table import Table

from dictation.recognition.protocol import Outcome
from dictation.records.pictures.drawing import GREY, Scale, line, svg, text, text_upwards
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
    """The curve as SVG."""
    across, up = Scale(0, 1, 22, 116), Scale(0, 1, 104, 10)
    parts = [line(across.at(0), up.at(0), across.at(1), up.at(1), GREY)]
    for tenths in range(0, 11, 2):
        x, y = across.at(tenths / 10), up.at(tenths / 10)
        parts.append(line(x, up.at(0), x, up.at(0) + 1.2))
        parts.append(text(x, up.at(0) + 5.5, f"{tenths / 10:.1f}"))
        parts.append(line(across.at(0) - 1.2, y, across.at(0), y))
        parts.append(text(across.at(0) - 2.2, y + 1.3, f"{tenths / 10:.1f}", anchor="end"))
    for one in bins(taken):
        x = across.at(one.mean)
        low, high = one.right.interval()
        parts.append(line(x, up.at(high), x, up.at(low)))
        parts.append(f'<circle cx="{x:.1f}" cy="{up.at(one.right.value):.1f}" r="1.2"/>')
    parts.append(line(across.at(0), up.at(0), across.at(1), up.at(0)))
    parts.append(line(across.at(0), up.at(1), across.at(0), up.at(0)))
    parts.append(text(69, 115, "confidence (the grey line: as good as its word)"))
    parts.append(text_upwards(8, 57, "share of phrases right, with 95 %"))
    parts.append(text(69, 5.5, title))
    path.write_text(svg(title, 124, 119, 3.8, parts), encoding="utf-8")
