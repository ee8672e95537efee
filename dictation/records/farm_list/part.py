"""A part of the list: a title, what to heed, and one line an animal."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date

from dictation.decide.record import Flags
from dictation.records.ahead import doubtful_identity
from dictation.records.one_line import one_line
from dictation.visit.state import Visit
from grammar.exam import LONG_FROM, Exam, Severity, digits_of

SMALLER = "\v"

BIG_DIGITS = 4
"""Digits of a long ear-tag number that are printed large: those that are read off a cow."""

Key = tuple[tuple[int, int | str], ...]

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


@dataclass(frozen=True, slots=True)
class Line:
    """An animal's tag and cells. ``doubt``: why nobody may act on the line yet.

    ``before``: what of a long tag stands before it in small letters. ``box``: whether there is
    something to tick off; never in doubt. In a cell a line feed starts another line, ``SMALLER``
    another line in smaller type.
    """

    tag: str
    cells: tuple[str, ...]
    doubt: str = ""
    before: str = ""
    box: bool = False


@dataclass(frozen=True, slots=True)
class Part:
    """``columns``: headings of the cells, the tag's not among them. ``heed``: cautions."""

    name: str
    title: str
    columns: tuple[str, ...]
    lines: tuple[Line, ...]
    order: str = ""
    heed: tuple[str, ...] = ()


def line_of(exam: Exam, cells: tuple[str, ...], doubt: str = "", *, box: bool = False) -> Line:
    """A line of an animal. Nothing in doubt has a box."""
    tag, before = tag_of(exam), ""
    if (
        exam.tag is not None
        and len(digits_of(tag)) >= LONG_FROM
        and not tag[-BIG_DIGITS:].isspace()
    ):
        before, tag = tag[:-BIG_DIGITS].strip(), tag[-BIG_DIGITS:].strip()
    return Line(tag, cells, doubt, before, box and not doubt)


def tag_of(exam: Exam) -> str:
    """The tag to look for, or which exam of the day it was."""
    return one_line(exam.tag) if exam.tag is not None else f"no tag (exam {exam.number})"


def pen_of(exam: Exam) -> str:
    """Where she stands, by the herd list."""
    return exam.known.pen or "" if exam.known is not None else ""


def by_tag(exam: Exam) -> Key:
    """Tags in the order of their numbers: 9 before 10."""
    return in_order(exam.tag or "")


def in_order(text: str) -> Key:
    """Text in the order of the numbers in it."""
    parts = re.split(r"([0-9]+)", text)
    return tuple((0, int(p)) if p.isdecimal() and p.isascii() else (1, p) for p in parts if p)


def day(on: date) -> str:
    """'10 Jul 2027': no month can be taken for a day."""
    return f"{on.day} {MONTHS[on.month - 1]} {on.year}"


def doubt_of(visit: Visit, exam: Exam, flags: Flags) -> str:
    """Why nobody may act on what was said of an animal; empty where nothing is open."""
    identity = doubtful_identity(exam)
    every = [*exam.open_queries]
    if not visit.is_approved(exam.number):
        asked = (f for f in flags.get(exam.number, ()) if f.severity is not Severity.NOTE)
        ordered = sorted(asked, key=lambda flag: flag.severity is not Severity.STOP)
        every += [flag.why for flag in ordered]
    if identity is not None and not every:
        every = [f"{identity[0].upper()}{identity[1:]}."]
    if not every:
        return ""
    more = len(every) - 1
    return f"{every[0]}{f' And {more} more.' if more else ''}"
