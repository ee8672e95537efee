"""Pieces of a breath: what a statement says before its place and its age are put to it; and how the
nodes of a parse tree are read for them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from typing import TypeVar

from lark import Token, Tree

from grammar.findings import Arrangement, Command, Finding, Side, StatedAs


class PlaceKind(StrEnum):
    """What a spoken place can carry."""

    OVARY = "ovary"
    UTERUS = "uterus"
    CERVIX = "cervix"
    SIDE = "side"


class RemarkKind(StrEnum):
    """A remark that means something only with a place."""

    NORMAL = "normal"
    CLEAR = "clear"
    NOT_SEEN = "not_seen"
    COULD_NOT_REACH = "could_not_reach"
    NOTHING = "nothing"
    NO_STRUCTURES = "no_structures"
    ADHESION = "adhesion"


@dataclass(frozen=True, slots=True)
class Place:
    """A place in the tract; ``side`` None is the whole uterus."""

    kind: PlaceKind
    side: Side | None


@dataclass(frozen=True, slots=True)
class Remark:
    """A remark; ``place`` where the statement named it ("couldn't see the left ovary")."""

    kind: RemarkKind
    place: Place | None = None


@dataclass(frozen=True, slots=True)
class Age:
    """An age that belongs to a pregnancy of the breath.

    ``pair``: two numbers without a word between ("forty, forty-five days").
    """

    age_days: int
    age_to_days: int | None
    approximate: bool
    stated_as: StatedAs | None
    pair: bool = False


@dataclass(frozen=True, slots=True)
class GravidSide:
    """ "carrying left": a side that belongs to a pregnancy of the breath."""

    side: Side


@dataclass(frozen=True, slots=True)
class Same:
    """ "Same on the right": what was just said, there as well; ``side`` None is the other one."""

    side: Side | None


Content = Finding | Command | Place | Remark | Age | GravidSide | Arrangement | Same


@dataclass(frozen=True, slots=True)
class Item:
    """A piece of a breath and its character span.

    ``corrects``: "sorry" stood before it, so it takes the place of the piece before.
    """

    content: Content
    start: int
    end: int
    corrects: bool = False


class UnresolvedDateError(Exception):
    """A day and month were spoken but the date of the visit, which gives the year, is not known."""


Node = Tree[Token]
Reader = Callable[[Node, date | None], list[Content]]
"""What reads a node of a rule: the node and the date of the visit in, pieces out."""
Readers = dict[str, Reader]
_E = TypeVar("_E", bound=StrEnum)


def children(node: Node, name: str | None = None) -> list[Node]:
    """Child nodes, of one rule if ``name`` is given."""
    return [c for c in node.children if isinstance(c, Tree) and (name is None or c.data == name)]


def child(node: Node, name: str) -> Node | None:
    """The child of that rule, if there is one."""
    return next(iter(children(node, name)), None)


def named(node: Node | None, kind: type[_E]) -> _E:
    """The enum member that names the only child of a choice rule, where the grammar has one."""
    assert node is not None
    return kind(str(children(node)[0].data))


def named_if(node: Node | None, kind: type[_E]) -> _E | None:
    """The same where the rule may be left out."""
    return None if node is None else named(node, kind)
