"""The parts of a chart: columns over an axis, with how many they stand for at the left."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from dictation.records.pictures.drawing import (
    FAINT,
    Scale,
    block,
    line,
    steps,
    svg,
    text,
    text_upwards,
)

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
class Column:
    """Stands from one value of the axis to another, for so many animals."""

    first: float
    last: float
    count: int


def chart(title: str, high_mm: float, parts: Sequence[str]) -> str:
    """The chart as SVG of the page's width."""
    return svg(title, WIDE_MM, high_mm, LETTER_MM, parts)


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
    return (
        name if len(name) <= LONGEST_NAME else name[: LONGEST_NAME - 1] + "\N{HORIZONTAL ELLIPSIS}"
    )
