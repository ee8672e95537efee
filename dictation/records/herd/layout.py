"""How a farm's herd list is to be read: recognised, shown for confirmation, kept."""

from __future__ import annotations

import json
import re
import tomllib
from collections import Counter
from dataclasses import dataclass, replace
from functools import cache
from importlib import resources
from itertools import pairwise
from pathlib import Path
from typing import Any

from dictation.disk import replace_file
from dictation.errors import BadInputError
from dictation.gate import content_of, gate
from dictation.records.herd.dates import DateOrder, bare, possible_orders
from dictation.records.herd.sheet import DELIMITERS, Sheet
from dictation.records.one_line import one_line

LAYOUT_NAME = "herd-list.toml"
LARGEST_BYTES = 2**20
HEADER_WITHIN = 10
"""The header is among so many first rows; a title may stand before it."""

NUMBERED = re.compile(r"(service|sire|sire_breed|inseminator)_[1-9][0-9]*")
DATES = frozenset({"calved_on", "natural_from", "natural_to", "services"})
_SERVED = (
    "service|insemination|ai|served|bred|besamung|belegung|inseminatie|ia|servicio|inseminering"
)
_SIRED = "sire|bull|bulle|taureau|stier|toro|touro|tyr"
_NUMBERED_HEADINGS = (
    ("service", re.compile(rf"(?:{_SERVED})(?: date)? ?(?:no )?([1-9][0-9]?)(?: date)?")),
    ("service", re.compile(rf"([1-9])(?:st|nd|rd|th)? (?:{_SERVED})(?: date)?")),
    ("sire", re.compile(rf"(?:{_SIRED}) ?(?:no )?([1-9][0-9]?)")),
    ("sire", re.compile(rf"(?:{_SERVED}) ?([1-9][0-9]?) (?:{_SIRED})")),
    ("inseminator", re.compile(r"(?:inseminator|technician) ?(?:no )?([1-9][0-9]?)")),
)


@dataclass(frozen=True, slots=True)
class Layout:
    """``columns``: heading as it stands in the list, and what it is read as; None: not read."""

    columns: tuple[tuple[str, str | None], ...]
    date_order: DateOrder = DateOrder.ISO
    encoding: str | None = None
    delimiter: str | None = None

    @property
    def names(self) -> dict[str, str | None]:
        """Heading to name."""
        return dict(self.columns)


@dataclass(frozen=True, slots=True)
class Recognised:
    """A layout, the line of its header, and what a person must say before it can be used."""

    layout: Layout
    header_line: int
    orders: frozenset[DateOrder]


def is_column(name: str) -> bool:
    """Whether we read a column of that name."""
    return name in columns_known() or NUMBERED.fullmatch(name) is not None


def header_of(sheet: Sheet) -> tuple[int, tuple[str, ...]]:
    """Line and headings: the row, or the two rows, among the first that name the most columns.

    Every heading is another: one without words is named by its place, a second one numbered.
    """
    first = sheet.rows[:HEADER_WITHIN]
    pairs = ((below[0], _in_two_rows(above[1], below[1])) for above, below in pairwise(first))
    # Of equals the first is taken: two rows are one header only where one alone names fewer.
    line, cells = max((*first, *pairs), key=lambda r: len({known_as(c) for c in r[1]} - {None}))
    seen: Counter[str] = Counter()
    headings = []
    for place, cell in enumerate(cells, start=1):
        heading = one_line(cell) or f"(column {place})"
        seen[heading] += 1
        headings.append(heading if seen[heading] == 1 else f"{heading} ({seen[heading]})")
    return line, tuple(headings)


def _in_two_rows(above: tuple[str, ...], below: tuple[str, ...]) -> tuple[str, ...]:
    """Headings under headings, which hold for the columns behind too: 'Last' over 'calving'."""
    if len(above) != len(below) or any(re.search(r"\d{3}|\d\W\d", cell) for cell in below):
        return ()
    joined = []
    over = ""
    for top, bottom in zip(above, below, strict=True):
        over = top or over
        each = (f"{over} {bottom}".strip(), bottom, top)
        joined.append(next((words for words in each if known_as(words)), each[0]))
    return tuple(joined)


def in_our_form(headings: tuple[str, ...]) -> bool:
    """Whether the headings are our own names, so that nothing has to be recognised."""
    return "tag" in headings and all(is_column(heading) for heading in headings)


def recognise(sheet: Sheet, said: dict[str, str | None] | None = None) -> Recognised:
    """What a list's columns, dates and letters seem to be; ``said`` are a person's own words."""
    line, headings = header_of(sheet)
    said = said or {}
    taken = {name for heading, name in said.items() if heading in headings}
    columns: list[tuple[str, str | None]] = []
    for heading in headings:
        name = said[heading] if heading in said else known_as(heading)
        # Of two columns that could be the same thing the first is taken; a person sees both.
        if heading not in said and name in taken:
            name = None
        taken.add(name)
        columns.append((heading, name))
    if "tag" not in taken:
        # Where a farm has no short numbers, the one on the ear tag is what she is called by.
        columns = [(head, "tag" if name == "national_number" else name) for head, name in columns]
    layout = Layout(tuple(columns), DateOrder.ISO, sheet.encoding, sheet.delimiter)
    orders = possible_orders(_dates(sheet, layout, line))
    order = next((o for o in DateOrder if o in orders), DateOrder.DAY_FIRST)
    return Recognised(replace(layout, date_order=order), line, orders)


def known_as(heading: str) -> str | None:
    """What a heading means to us; None where it means nothing."""
    if is_column(heading):
        return heading
    plain = bare(re.sub(r"\(.*?\)|\[.*?\]|[°º]", " ", heading))
    plain = re.sub(r"(?<=\b\w)\.(?=\w\b)", "", plain)  # A.I. is AI
    words = " ".join(re.sub(r"[._:*\-\s]", " ", plain).split())
    for kind, numbered in _NUMBERED_HEADINGS:
        if (found := numbered.fullmatch(words)) is not None:
            return f"{kind}_{found.group(1)}"
    return _headings().get(words)


def layout_beside(path: Path) -> Layout | None:
    """The layout kept in the folder of a list; None where there is none. Raises BadInputError."""
    kept = path.parent / LAYOUT_NAME
    if not kept.exists():
        return None
    with gate(kept, "delete it and import the list again"):
        table = tomllib.loads(content_of(kept, "the kept layout", LARGEST_BYTES).decode())
    return _layout(kept, table)


def keep_layout(path: Path, layout: Layout) -> Path:
    """Keep a layout for the lists of a folder; where it was written. Raises MissingError."""
    lines = [
        "# How herd lists in this folder are read, as a person confirmed it. It may be edited:",
        "# a heading of the list = what it is read as; an empty name is not read.",
        f"date_order = {json.dumps(str(layout.date_order))}",
    ]
    for name, value in (("encoding", layout.encoding), ("delimiter", layout.delimiter)):
        if value is not None:
            lines.append(f"{name} = {json.dumps(value)}")
    lines.append("[columns]")
    lines += [
        f"{json.dumps(heading, ensure_ascii=False)} = {json.dumps(name or '')}"
        for heading, name in layout.columns
    ]
    kept = path.parent / LAYOUT_NAME
    replace_file(kept, ("\n".join(lines) + "\n").encode("utf-8"))
    return kept


def _layout(kept: Path, table: dict[str, Any]) -> Layout:
    columns = table.get("columns")
    if not isinstance(columns, dict) or not all(isinstance(n, str) for n in columns.values()):
        raise BadInputError(f"{kept} has no [columns]; delete it and import the list again.")
    for heading, name in columns.items():
        if name and not is_column(name):
            raise BadInputError(f"{kept}: {heading!r} is read as {name!r}, which is no column.")
    try:
        order = DateOrder(table.get("date_order", "iso"))
    except ValueError as error:
        raise BadInputError(f"{kept}: date_order is none of iso, dmy, mdy.") from error
    encoding, delimiter = table.get("encoding"), table.get("delimiter")
    if encoding is not None and not _is_encoding(encoding):
        raise BadInputError(f"{kept}: encoding {encoding!r} is none that is known here.")
    if delimiter is not None and delimiter not in DELIMITERS:
        raise BadInputError(f"{kept}: delimiter is none of comma, semicolon, tab, upright bar.")
    named = tuple((heading, name or None) for heading, name in columns.items())
    return Layout(named, order, encoding, delimiter)


def _is_encoding(name: object) -> bool:
    try:
        return isinstance(name, str) and "a".encode(name).decode(name) == "a"
    except (LookupError, ValueError):
        return False


def _dates(sheet: Sheet, layout: Layout, header_line: int) -> list[str]:
    names = enumerate(name or "" for _, name in layout.columns)
    places = [place for place, name in names if name in DATES or name.startswith("service_")]
    return [
        cells[place]
        for line, cells in sheet.rows
        if line > header_line
        for place in places
        if place < len(cells)
    ]


@cache
def columns_known() -> dict[str, list[str]]:
    """The columns that we read, and the headings that lists give to them."""
    text = resources.files(__package__).joinpath("columns.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


@cache
def _headings() -> dict[str, str]:
    known = columns_known()
    return {bare(heading): name for name, headings in known.items() for heading in headings}
