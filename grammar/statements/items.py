"""Pieces of a breath: what a statement says before its place and its age are put to it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

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


Content = Finding | Command | Place | Remark | Age | GravidSide | Arrangement


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


# What reads a node of a rule: the node and the date of the visit in, pieces out.
Reader = Callable[[Tree[Token], date | None], list[Content]]
Readers = dict[str, Reader]
