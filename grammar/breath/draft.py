"""A breath while it is put together: what is said so far, and what speaks against it."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import IntEnum

from grammar.findings import Command, Finding
from grammar.statements.items import Age, Content, Item


class Against(IntEnum):
    """What speaks against a way of putting a breath together. The ways with the least sum stand."""

    SHARED = 1
    """A named station that belongs to what stands before it and to what stands behind it as well;
    of a bare side both meanings are shown."""
    LEFT_OVER = 2
    """A place with nothing said of it, or a structure without a side."""
    SIDE_LOST = 40
    """A side of which nothing is said, and which names no station: words would be lost."""
    UNREADABLE = 100
    """A piece that means nothing by itself, or that contradicts another."""


@dataclass(frozen=True, slots=True)
class Way:
    """``side_follows``: a place belongs to what it follows. ``gravid_takes``: so for pregnancies.

    ``remark_on_ovary``: what a bare side means to a remark ("left, not seen"). ``same_whole``:
    "same on the right" is all that was said of the left, with its sizes; not the last kind alone.
    """

    side_follows: bool = False
    gravid_takes: bool = True
    remark_on_ovary: bool = True
    same_whole: bool = True


@dataclass(slots=True)
class Entry:
    """Something said, and its characters in the phrase."""

    what: Finding | Command
    start: int
    end: int

    def becomes(self, what: Finding, item: Item) -> None:
        """Say more by another item."""
        self.what, self.end = what, max(self.end, item.end)


@dataclass(slots=True)
class Draft:
    """``used``: the places that something was said of; ``taken_before``: by what stood before them.

    ``age_ahead``: an age that belongs to the pregnancy behind it, and where it begins.
    """

    items: list[Item]
    normal: str
    way: Way
    said: list[Entry] = field(default_factory=list)
    used: set[int] = field(default_factory=set)
    taken_before: set[int] = field(default_factory=set)
    age_ahead: tuple[Age, int] | None = None
    problems: int = 0

    def content(self, index: int) -> Content | None:
        """What stands there; None before the first and behind the last."""
        return self.items[index].content if 0 <= index < len(self.items) else None

    def say(self, what: Finding | Command, item: Item) -> None:
        """Say something as long as an item."""
        self.said.append(Entry(what, item.start, item.end))

    def last(self, kind: type) -> Entry | None:
        """The last of a kind that is said."""
        return next((entry for entry in reversed(self.said) if isinstance(entry.what, kind)), None)
