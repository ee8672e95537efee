"""Places of a breath put to what is said of them.

A side said once holds for what follows it ("left ovary CL twenty-two, follicle nine"); it may also
follow what it belongs to ("CL twenty-two on the left").
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from grammar.breath.draft import Against, Draft, Entry
from grammar.findings import (
    Command,
    CommandName,
    Finding,
    OvarianStructure,
    Ovary,
    Seen,
    SeenRemark,
    Side,
    SweepStructure,
    UterineState,
    Uterus,
)
from grammar.statements.items import Item, Place, PlaceKind, Remark, RemarkKind

_FITS: dict[type, frozenset[PlaceKind]] = {
    Ovary: frozenset({PlaceKind.OVARY, PlaceKind.SIDE}),
    Uterus: frozenset({PlaceKind.UTERUS, PlaceKind.SIDE}),
    Remark: frozenset(PlaceKind),
}
_HORNS = (SweepStructure.LEFT_HORN, SweepStructure.RIGHT_HORN)
_OVARIES = (SweepStructure.LEFT_OVARY, SweepStructure.RIGHT_OVARY)
_STATIONS: dict[Place, tuple[SweepStructure, ...]] = {
    Place(PlaceKind.OVARY, Side.LEFT): _OVARIES[:1],
    Place(PlaceKind.OVARY, Side.RIGHT): _OVARIES[1:],
    Place(PlaceKind.OVARY, Side.BOTH): _OVARIES,
    Place(PlaceKind.UTERUS, Side.LEFT): _HORNS[:1],
    Place(PlaceKind.UTERUS, Side.RIGHT): _HORNS[1:],
    Place(PlaceKind.UTERUS, Side.BOTH): _HORNS,
    Place(PlaceKind.UTERUS, Side.BODY): (SweepStructure.BODY,),
    Place(PlaceKind.UTERUS, None): (SweepStructure.BODY, *_HORNS),
    Place(PlaceKind.CERVIX, None): (SweepStructure.CERVIX,),
}
_Means = tuple[SeenRemark | None, UterineState | None, OvarianStructure | None]
_MEANS: dict[RemarkKind, _Means] = {
    RemarkKind.NORMAL: (SeenRemark.NORMAL, UterineState.CLEAR, None),
    RemarkKind.CLEAR: (SeenRemark.NORMAL, UterineState.CLEAR, None),
    RemarkKind.NOTHING: (SeenRemark.NORMAL, UterineState.CLEAR, OvarianStructure.NONE),
    RemarkKind.NO_STRUCTURES: (None, None, OvarianStructure.NONE),
    RemarkKind.ADHESION: (None, UterineState.ADHESION, OvarianStructure.ADHESION),
    RemarkKind.NOT_SEEN: (SeenRemark.NOT_SEEN, None, None),
    RemarkKind.COULD_NOT_REACH: (SeenRemark.COULD_NOT_REACH, None, None),
}
"""What a remark says of any station, of the uterus where that is more, and of an ovary."""
#: Remarks that are of the whole uterus, or of both ovaries, where no place is named.
_WITHOUT_PLACE = frozenset({RemarkKind.CLEAR, RemarkKind.ADHESION, RemarkKind.NO_STRUCTURES})


def takes_place(content: object, kind: PlaceKind) -> bool:
    """Whether a piece would itself take a place of that kind."""
    return kind in _FITS.get(type(content), frozenset())


def with_place(draft: Draft, index: int, content: Ovary | Uterus | Remark) -> None:
    """Say a structure, a state or a remark of the place that it belongs to."""
    item = draft.items[index]
    span = Entry(Seen(SweepStructure.BODY), item.start, item.end)
    place = content.place if isinstance(content, Remark) else None
    if place is None and not (isinstance(content, Ovary) and content.side is not None):
        at = _place_for(draft, index, content)
        place = None if at is None else _taken(draft, index, at, span)
    if isinstance(content, Remark):
        if place is None and content.kind not in _WITHOUT_PLACE:
            draft.problems += Against.UNREADABLE
        findings = _remarked(content.kind, place, draft.way.remark_on_ovary)
    else:
        if isinstance(content, Ovary) and content.side is None and place is None:
            draft.problems += Against.LEFT_OVER
        findings = [content if place is None else replace(content, side=place.side)]
    draft.said += (Entry(finding, span.start, span.end) for finding in findings)


def _place_for(draft: Draft, index: int, content: object) -> int | None:
    """Index of the place that an item belongs to."""
    behind: list[int] = [index + 1] if draft.way.side_follows else []
    candidates: list[int] = [*behind, *range(index - 1, -1, -1)]
    for at in candidates:
        place = draft.content(at)
        if isinstance(place, Place) and takes_place(content, place.kind):
            return at
    return None


def _taken(draft: Draft, index: int, at: int, span: Entry) -> Place | None:
    """The place at ``at``, which is now used; one that stands beside the item widens its span."""
    found = draft.items[at]
    place = found.content
    assert isinstance(place, Place)
    draft.used.add(at)
    if at > index:
        draft.taken_before.add(at)
    elif place.kind is not PlaceKind.SIDE and at in draft.taken_before:
        draft.problems += Against.SHARED
    if abs(at - index) == 1:
        span.start, span.end = min(span.start, found.start), max(span.end, found.end)
    return place


def _remarked(kind: RemarkKind, place: Place | None, on_ovary: bool) -> Iterable[Finding]:
    if place is not None and place.kind is PlaceKind.SIDE:
        # "nothing on the left" means the ovary; for other remarks both meanings are shown
        on_ovary = on_ovary or kind in {RemarkKind.NOTHING, RemarkKind.NO_STRUCTURES}
        place = Place(PlaceKind.OVARY if on_ovary else PlaceKind.UTERUS, place.side)
    if kind is RemarkKind.NO_STRUCTURES and place is None:
        return [Ovary(Side.BOTH, OvarianStructure.NONE)]
    seen, of_uterus, of_ovary = _MEANS[kind]
    if of_uterus and (place is None or place.kind is PlaceKind.UTERUS):
        return [Uterus(None if place is None else place.side, of_uterus)]
    if of_ovary and place is not None and place.kind is PlaceKind.OVARY:
        return [Ovary(place.side, of_ovary)]
    return [] if place is None else [Seen(each, seen) for each in _STATIONS[place]]


def say_same(draft: Draft, item: Item, side: Side | None) -> None:
    """ "Same on the right": what the breath said of the left; alone, it is told to the tool.

    Whether sizes, and all that was said, are the same is not plain: both are shown.
    """
    said = [e.what for e in draft.said if isinstance(e.what, Ovary | Uterus)]
    if not said:
        draft.problems += Against.UNREADABLE * (len(draft.items) > 1)
        told = Command(CommandName.AGAIN, side=side, other_side=None if side else True)
        draft.say(told, item)
        return
    there = said[-1].side
    other = {Side.LEFT: Side.RIGHT, Side.RIGHT: Side.LEFT}.get(there or Side.BOTH)
    if other is None or side not in (None, other):
        draft.problems += Against.UNREADABLE
        return
    same = [each for each in said if each.side is there]
    for each in same if draft.way.same_whole else same[-1:]:
        draft.say(replace(each, side=other) if draft.way.same_whole else _kind(each, other), item)


def _kind(found: Ovary | Uterus, side: Side) -> Finding:
    """What it is, on that side, with nothing of how large or deep."""
    if isinstance(found, Uterus):
        return Uterus(side, found.state)
    return Ovary(side, found.structure, cavity=found.cavity, wall=found.wall, count=found.count)


def say_places_left_over(draft: Draft) -> None:
    """A place with nothing said of it: the station was named, and no more."""
    for index, item in enumerate(draft.items):
        place = item.content
        if isinstance(place, Place) and index not in draft.used:
            lost = place.kind is PlaceKind.SIDE
            draft.problems += Against.SIDE_LOST if lost else Against.LEFT_OVER
            for station in _STATIONS.get(place, ()):
                draft.say(Seen(station), item)
