"""A part of the list: a title, what to heed, and one line an animal."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from dictation.records.one_line import one_line
from grammar.exam import Exam

SMALLER = "\v"

Key = tuple[tuple[int, int | str], ...]

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


@dataclass(frozen=True, slots=True)
class Line:
    """An animal's tag and cells. ``strong``: numbers of the cells that must not be overlooked.

    In a cell a line feed starts another line, ``SMALLER`` another line in smaller type.
    """

    tag: str
    cells: tuple[str, ...]
    strong: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Part:
    """``columns``: headings of the cells, the tag's not among them. ``heed``: cautions."""

    name: str
    title: str
    columns: tuple[str, ...]
    lines: tuple[Line, ...]
    order: str = ""
    heed: tuple[str, ...] = ()


def tag_of(exam: Exam) -> str:
    """The tag to look for, or which exam of the day it was."""
    return one_line(exam.tag) if exam.tag is not None else f"no tag (exam {exam.number})"


def by_tag(exam: Exam) -> Key:
    """Tags in the order of their numbers: 9 before 10."""
    parts = re.split(r"([0-9]+)", exam.tag or "")
    return tuple((0, int(p)) if p.isdecimal() and p.isascii() else (1, p) for p in parts if p)


def day(on: date) -> str:
    """'10 Jul 2027': no month can be taken for a day."""
    return f"{on.day} {MONTHS[on.month - 1]} {on.year}"


def lines_by_tag(told: Iterable[tuple[Exam, tuple[str, ...]]]) -> tuple[Line, ...]:
    """A line for each exam with its cells, by tag."""
    ordered = sorted(told, key=lambda each: by_tag(each[0]))
    return tuple(Line(tag_of(exam), cells) for exam, cells in ordered)


def worded(told: Iterable[tuple[Exam, list[str]]], between: str = "\n") -> tuple[Line, ...]:
    """A line of one cell for each exam of which there is something to say, by tag."""
    return lines_by_tag((exam, (between.join(words),)) for exam, words in told if words)
