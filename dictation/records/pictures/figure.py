"""A chart in black and white as SVG that stands in a page."""

from __future__ import annotations

import io
import re
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

WIDE_IN = 7.2
"""184 mm: the width of the text on A4."""

_STYLE: dict[str, object] = {
    "font.family": ["DejaVu Sans"],
    "font.size": 12,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.linewidth": 1.0,
    "text.parse_math": False,
    # Text stays text: it can be read aloud and searched.
    "svg.fonttype": "none",
    # The same chart is the same bytes at each export.
    "svg.hashsalt": "hornsweep",
}


def chart(high_in: float, heights: tuple[float, ...] = (1.0,)) -> tuple[Figure, list[Axes]]:
    """An empty figure of the page's width, with axes one above the other, in our style."""
    import matplotlib
    from matplotlib.figure import Figure

    with matplotlib.rc_context(_STYLE):  # type: ignore[arg-type]
        figure = Figure(figsize=(WIDE_IN, high_in), layout="constrained")
        grid = figure.subplots(len(heights), 1, sharex=True, squeeze=False, height_ratios=heights)
    return figure, list(grid[:, 0])


def svg_of(figure: Figure, title: str) -> str:
    """The figure as an ``svg`` element, without the declarations of a file of its own."""
    import matplotlib

    out = io.StringIO()
    with matplotlib.rc_context(_STYLE):  # type: ignore[arg-type]
        figure.savefig(out, format="svg", metadata={"Date": None, "Title": title}, transparent=True)
    text = out.getvalue()
    text = text[text.index("<svg") :]
    # Nothing in a page of ours names an address, not even that of a vocabulary.
    return re.sub(r"\s*<metadata>.*?</metadata>", "", text, flags=re.DOTALL)
