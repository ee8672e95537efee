"""A part of the list: a title, what to heed, and one line an animal."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date

from dictation.records.one_line import one_line
from grammar.exam import Exam

SMALLER = "\v"

Key = tuple[tuple[int, int | str], ...]


NARROW = frozenset(
    {"Days in calf", "Expected to calve", "Dry off", "On", "In", "When", "Since calving"}
)


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
    """``columns``: headings of the cells, the tag's not among them. ``heed``: cautions.

    ``narrow``: headings of columns whose lines are not broken.
    """

    name: str
    title: str
    columns: tuple[str, ...]
    lines: tuple[Line, ...]
    order: str = ""
    heed: tuple[str, ...] = ()
    narrow: frozenset[str] = NARROW


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


MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
