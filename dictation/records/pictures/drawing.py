"""What the pictures of a visit are drawn with: SVG in millimetres of the printed page."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from xml.sax.saxutils import escape

BLACK, GREY, FAINT = "#000", "#bdbdbd", "#d9d9d9"


@dataclass(frozen=True, slots=True)
class Picture:
    """``svg``: written by us, safe to put into a page as it is. ``name``: its kind, one word."""

    name: str
    title: str
    svg: str
    words: str = ""


@dataclass(frozen=True, slots=True)
class Scale:
    """From values to millimetres of the picture: ``first`` lies at ``from_mm``, ``last`` at the
    other end."""

    first: float
    last: float
    from_mm: float
    to_mm: float

    def at(self, value: float) -> float:
        """Where a value lies."""
        part = (value - self.first) / (self.last - self.first)
        return self.from_mm + part * (self.to_mm - self.from_mm)


def svg(title: str, wide_mm: float, high_mm: float, letter_mm: float, parts: Sequence[str]) -> str:
    """The whole picture, which stands alone in a page."""
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" role="img" width="{wide_mm:.0f}mm"'
        f' height="{high_mm:.0f}mm" viewBox="0 0 {wide_mm:.0f} {high_mm:.0f}"'
        f' font-family="DejaVu Sans, Verdana, sans-serif" font-size="{letter_mm}">'
        f"<title>{escape(title)}</title>{''.join(parts)}</svg>"
    )


def text(x: float, y: float, words: str, *, anchor: str = "middle", bold: bool = False) -> str:
    """Words that begin, end or have their middle at a point."""
    weight = ' font-weight="bold"' if bold else ""
    return f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}"{weight}>{escape(words)}</text>'


def text_upwards(x: float, y: float, words: str) -> str:
    """Words read from below, with their middle at a point."""
    return f'<g transform="translate({x:.1f} {y:.1f}) rotate(-90)">{text(0, 0, words)}</g>'


def line(x1: float, y1: float, x2: float, y2: float, colour: str = BLACK) -> str:
    """A thin straight line."""
    ends = f'x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}"'
    return f'<line {ends} stroke="{colour}" stroke-width="0.3"/>'


def block(left: float, top: float, right: float, bottom: float) -> str:
    """A bar of a chart."""
    at = f'x="{left:.1f}" y="{top:.1f}" width="{right - left:.1f}" height="{bottom - top:.1f}"'
    return f'<rect {at} fill="{GREY}" stroke="{BLACK}" stroke-width="0.3"/>'


def steps(first: float, last: float, most: int) -> tuple[int, ...]:
    """At most so many round numbers from ``first`` to ``last``, evenly spaced."""
    step, scale = 1, 1
    while (last - first) / step > most - 1:
        # 1, 2, 5, 10, 20, 50 and so on.
        step = next(n * scale for n in (1, 2, 5, 10) if n * scale > step)
        scale = 10 * scale if step == 10 * scale else scale
    begin = int(-(-first // step)) * step
    return tuple(range(begin, int(last) + 1, step))
