"""Times as tables show them."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from rich.console import Console
from rich.table import Table

TABLE_WIDTH = 168


def milliseconds(times_s: Sequence[float]) -> tuple[str, str, str]:
    """Median, 95th percentile and longest of times given in s, in whole ms."""
    if not times_s:
        return "-", "-", "-"
    marks = np.percentile(np.asarray(times_s), [50, 95, 100]) * 1000
    middle, late, longest = (f"{mark:.0f}" if mark >= 10 else f"{mark:.1f}" for mark in marks)
    return middle, late, longest


def table(title: str, columns: Sequence[str]) -> Table:
    """An empty table with a title over its left edge."""
    made = Table(title=title, title_justify="left")
    for column in columns:
        made.add_column(column)
    return made


def show(*tables: Table) -> None:
    """Print tables, as wide as they are."""
    console = Console(width=TABLE_WIDTH, highlight=False)
    for one in tables:
        console.print(one)
