"""Which pictures go with a visit's list. A chart is None where there is nothing to show."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from dictation.records.ahead import ahead_of, settled
from dictation.records.farm_list.by_tag import is_open, is_pregnant
from dictation.records.farm_list.part import day, tag_of
from dictation.records.pictures.drawing import (
    FAINT,
    Picture,
    Scale,
    block,
    line,
    steps,
    svg,
    text,
    text_upwards,
)
from dictation.visit.state import Visit
from grammar.exam import Exam
from grammar.facts import facts_of
from grammar.summary import summarise

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

WEEK, MONTH = 7, 30
MOST_NAMED = 25
"""More animals than this are drawn without their tags: the letters would touch."""

FEWEST_WEEKS = 6
"""A chart of fewer weeks leaves the rest of its width empty: its columns would be slabs."""

ROW_MM = 7.0
UNDER_MM = 13.0
"""Kept under an axis for its numbers and what it shows."""


@dataclass(frozen=True, slots=True)
class _Column:
    """Stands from one value of the axis to another, for so many animals."""

    first: float
    last: float
    count: int


@dataclass(frozen=True, slots=True)
class _Aged:
    """An animal in calf, and how far."""

    tag: str
    days: int
    error_days: float


def pictures(visit: Visit) -> tuple[Picture, ...]:
    """The charts that have something to show."""
    every = (ages, calvings, open_since_calving)
    made = (draw(visit.exams) for draw in every)
    return tuple(picture for picture in made if picture is not None)


def ages(exams: tuple[Exam, ...]) -> Picture | None:
    """How far in calf: animals by week, and under it each with the error of its age."""
    mine = sorted(filter(None, map(_aged, exams)), key=lambda each: each.days)
    if not mine:
        return None
    named = len(mine) <= MOST_NAMED
    left = _names_mm([each.tag for each in mine] if named else [])
    days = [each.days for each in mine]
    weeks = _spans(days, WEEK, min(days) // WEEK * WEEK)
    lowest = min(weeks[0].first, *(each.days - each.error_days for each in mine))
    highest = max(weeks[-1].last, *(each.days + each.error_days for each in mine))
    across = Scale(lowest - 1, highest + 1, left, RIGHT_MM)
    row_mm = ROW_MM if named else 1.8
    above = 38.0
    below = above + 4.0 + row_mm * len(mine)
    parts = [_columns(across, 4.0, above, weeks, "animals"), line(left, above, RIGHT_MM, above)]
    parts += [
        _with_error(across, each, above + 2.0 + row_mm * (place + 0.5), named)
        for place, each in enumerate(mine)
    ]
    parts.append(line(left, above, left, below))
    parts.append(_axis(across, below, _numbers(across, 9), "days in calf, with the error of each"))
    words = f"{len(mine)} animals, by week. The bars are the error of each age."
    return _chart("ages", "How far in calf", below + UNDER_MM, parts, words)


def calvings(exams: tuple[Exam, ...]) -> Picture | None:
    """Expected calvings by week, Monday to Sunday."""
    due = [calving.on for e in exams if (calving := ahead_of(e).calving) is not None]
    title = "Expected calvings by week"
    words = "By the expected day; each cow may calve up to about two weeks before or after it."
    return _weeks("calvings", title, due, words)


def open_since_calving(exams: tuple[Exam, ...]) -> Picture | None:
    """Open cows by days since calving."""
    found = [facts_of(exam).days_calved for exam in exams if is_open(exam)]
    days = [each for each in found if each is not None]
    if not days:
        return None
    every = _spans(days, MONTH, 0)
    across = Scale(0, every[-1].last, COUNTS_MM, RIGHT_MM)
    step = -(-len(every) // 12) * MONTH
    marks = [(mark, str(mark)) for mark in range(0, int(across.last) + 1, step)]
    parts = [
        _columns(across, 4.0, 44.0, every, "open cows"),
        _axis(across, 44.0, marks, "days since calving"),
    ]
    unknown = len(found) - len(days)
    words = f"{unknown} more with no calving date known." if unknown else ""
    return _chart("open", "Open cows by days since calving", 44.0 + UNDER_MM, parts, words)


def _aged(exam: Exam) -> _Aged | None:
    if not is_pregnant(exam):
        return None
    facts = facts_of(settled(exam))
    age = summarise(facts)
    if age.age_days is None or facts.ages.contradict:
        return None
    return _Aged(tag_of(exam), age.age_days, age.age_error_days or 0.0)


def _weeks(name: str, title: str, days: list[date], words: str) -> Picture | None:
    if not days:
        return None
    counts = Counter(on - timedelta(days=on.weekday()) for on in days)
    first, last = min(counts), max(counts)
    weeks = [first + timedelta(days=n) for n in range(0, (last - first).days + 1, WEEK)]
    every = [_Column(n + 0.05, n + 0.95, counts[week]) for n, week in enumerate(weeks)]
    across = Scale(-0.2, max(len(weeks), FEWEST_WEEKS) + 0.2, COUNTS_MM, RIGHT_MM)
    step = -(-len(weeks) // 8)
    marks = [(n + 0.5, "\n".join(day(weeks[n]).rsplit(" ", 1))) for n in range(0, len(weeks), step)]
    parts = [
        _columns(across, 4.0, 44.0, every, "animals"),
        _axis(across, 44.0, marks, "week from Monday"),
    ]
    return _chart(name, title, 44.0 + LINE_MM + UNDER_MM, parts, words)


def _spans(days: list[int], long: int, first: int) -> list[_Column]:
    """How many lie in each span of so many days."""
    counts = Counter((day - first) // long for day in days)
    return [
        _Column(first + n * long, first + (n + 1) * long, counts[n]) for n in range(max(counts) + 1)
    ]


def _with_error(across: Scale, each: _Aged, y: float, named: bool) -> str:
    """One age as a dot, with what it may be off by to both sides."""
    low, high = across.at(each.days - each.error_days), across.at(each.days + each.error_days)
    parts = [line(low, y, high, y)]
    if named:
        parts.insert(0, line(across.from_mm, y, across.to_mm, y, FAINT))
        parts += [line(x, y - 1.1, x, y + 1.1) for x in (low, high)]
        parts.append(text(across.from_mm - 2.2, y + 1.5, _shown(each.tag), anchor="end"))
    dot_mm = 1.1 if named else 0.5
    parts.append(f'<circle cx="{across.at(each.days):.1f}" cy="{y:.1f}" r="{dot_mm}"/>')
    return "".join(parts)


def _numbers(across: Scale, most: int) -> list[tuple[float, str]]:
    return [(mark, str(mark)) for mark in steps(across.first, across.last, most)]


def _chart(name: str, title: str, high_mm: float, parts: Sequence[str], words: str = "") -> Picture:
    """A chart of the page's width."""
    return Picture(name, title, svg(title, WIDE_MM, high_mm, LETTER_MM, parts), words)


def _columns(
    across: Scale, top_mm: float, bottom_mm: float, every: Sequence[_Column], words: str
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


def _axis(across: Scale, y_mm: float, marks: Sequence[tuple[float, str]], words: str) -> str:
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


def _names_mm(names: Sequence[str]) -> float:
    """How much is kept at the left for names, one a line."""
    longest = max((len(_shown(name)) for name in names), default=0)
    return max(COUNTS_MM, longest * LETTER_MM * _LETTER_WIDTH + 6.0)


def _shown(name: str) -> str:
    """A name as it stands at the left of a chart."""
    cut = f"{name[: LONGEST_NAME - 1]}\N{HORIZONTAL ELLIPSIS}"
    return name if len(name) <= LONGEST_NAME else cut
