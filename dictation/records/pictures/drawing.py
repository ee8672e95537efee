"""What pictures are drawn with, and the parts of a chart: SVG in millimetres of a printed page."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from xml.sax.saxutils import escape

BLACK, GREY, FAINT = "#000", "#bdbdbd", "#d9d9d9"

WIDE_MM = 184.0
"""The width of the text on A4."""

LETTER_MM = 4.2
LINE_MM = 5.0
TICK_MM = 1.2
RIGHT_MM = WIDE_MM - 6.0
COUNTS_MM = 20.0
"""Kept at the left for the numbers of an axis and what they count."""

LONGEST_NAME = 30
"""A longer name at the left of a chart is cut: the list has it whole."""

# A letter of DejaVu Sans is so wide on average, as a share of its height; digits are 0.64.
_LETTER_WIDTH = 0.64


@dataclass(frozen=True, slots=True)
class Picture:
    """``svg``: written by us, safe to put into a page as it is. ``name``: its kind, one word."""

    name: str
    title: str
    svg: str
    words: str = ""


@dataclass(frozen=True, slots=True)
class Column:
    """Stands from one value of the axis to another, for so many animals."""

    first: float
    last: float
    count: int


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


def chart(name: str, title: str, high_mm: float, parts: Sequence[str], words: str = "") -> Picture:
    """A chart of the page's width."""
    return Picture(name, title, svg(title, WIDE_MM, high_mm, LETTER_MM, parts), words)


def columns(
    across: Scale, top_mm: float, bottom_mm: float, every: Sequence[Column], words: str
) -> str:
    """Columns, and at the left the axis of what they count."""
    most = max(column.count for column in every)
    marks = steps(0, most, 6)
    if marks[-1] < most:
        marks = (*marks, 2 * marks[-1] - marks[-2])
    up = Scale(0, marks[-1], bottom_mm, top_mm)
    parts = []
    for mark in marks:
        y = up.at(mark)
        parts.append(line(across.from_mm - TICK_MM, y, across.to_mm, y, FAINT))
        parts.append(text(across.from_mm - 2.2, y + 1.5, str(mark), anchor="end"))
    parts += [
        block(across.at(each.first), up.at(each.count), across.at(each.last), bottom_mm)
        for each in every
        if each.count
    ]
    parts.append(line(across.from_mm, top_mm, across.from_mm, bottom_mm))
    parts.append(text_upwards(across.from_mm - COUNTS_MM + 6, (top_mm + bottom_mm) / 2, words))
    return "".join(parts)


def axis(across: Scale, y_mm: float, marks: Sequence[tuple[float, str]], words: str) -> str:
    """The axis under a chart: named places, a name in one line or more, and what it shows."""
    parts = [line(across.from_mm, y_mm, across.to_mm, y_mm)]
    lines = 1
    for value, name in marks:
        x = across.at(value)
        parts.append(line(x, y_mm, x, y_mm + TICK_MM))
        rows = name.split("\n")
        lines = max(lines, len(rows))
        parts += [text(x, y_mm + (n + 1) * LINE_MM, row) for n, row in enumerate(rows)]
    middle = (across.from_mm + across.to_mm) / 2
    parts.append(text(middle, y_mm + (lines + 1) * LINE_MM + 0.5, words))
    return "".join(parts)


def names_mm(names: Sequence[str]) -> float:
    """How much is kept at the left for names, one a line."""
    longest = max((len(shown(name)) for name in names), default=0)
    return max(COUNTS_MM, longest * LETTER_MM * _LETTER_WIDTH + 6.0)


def shown(name: str) -> str:
    """A name as it stands at the left of a chart."""
    cut = f"{name[: LONGEST_NAME - 1]}\N{HORIZONTAL ELLIPSIS}"
    return name if len(name) <= LONGEST_NAME else cut
