"""The items of one breath put together: sides to findings, ages to pregnancies.

A side said once holds for what follows it ("left ovary CL twenty-two, follicle nine"); it may also
follow what it belongs to ("CL twenty-two on the left"). Where more than one way of putting together
is as good as the best, all are returned: the caller asks, and never picks one in silence.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import product

from grammar.findings import (
    Animal,
    Arrangement,
    Command,
    CommandName,
    Conceptus,
    Finding,
    Landmark,
    LandmarkName,
    OvarianStructure,
    Ovary,
    Plan,
    Pregnancy,
    PregnancyStatus,
    Said,
    Seen,
    SeenRemark,
    Side,
    SweepStructure,
    UterineState,
    Uterus,
)
from grammar.neighbours import (
    UNREADABLE,
    belongs_to_neighbour,
    few_of_the_next,
    number_taken_from,
    rest_of_a_number,
)
from grammar.slips import without_slips
from grammar.statements.items import Age, GravidSide, Item, Place, PlaceKind, Remark, RemarkKind

_FITS: dict[type, frozenset[PlaceKind]] = {
    Ovary: frozenset({PlaceKind.OVARY, PlaceKind.SIDE}),
    Uterus: frozenset({PlaceKind.UTERUS, PlaceKind.SIDE}),
    Remark: frozenset(PlaceKind),
}
# Shorter bare numbers are sizes and ages whose first words were lost, not tags: our choice.
FEWEST_DIGITS_ALONE = 3
FEWEST_DIGITS_AFTER_NEXT = 2
# Problems of a side of which nothing is said, and which names no station: words would be lost.
SIDE_LOST = 40
# Problems of a place with nothing said of it, and of a structure without a side.
_LEFT_OVER = 2
# Of a named station that belongs to what stands before it and to what stands behind it as well;
# of a bare side both meanings are shown.
_SHARED = 1
# A second number of a pair ("forty, forty-five days") is more, and at most so many times the first.
_WIDEST_PAIR = 2
_GRAVID = frozenset({PlaceKind.UTERUS, PlaceKind.SIDE})


@dataclass(frozen=True, slots=True)
class Composition:
    """One way to put a breath together. ``problems``: places left over, findings without a side."""

    said: tuple[Said, ...]
    problems: int


@dataclass(frozen=True, slots=True)
class _Way:
    """``side_follows``: a place belongs to what it follows. ``gravid_takes``: so for pregnancies.

    ``remark_on_ovary``: what a bare side means to a remark ("left, not seen").
    """

    side_follows: bool
    gravid_takes: bool
    remark_on_ovary: bool


@dataclass(slots=True)
class _Draft:
    said: list[tuple[Finding | Command, int, int]] = field(default_factory=list)
    used: set[int] = field(default_factory=set)
    used_by_earlier: set[int] = field(default_factory=set)
    problems: int = 0


def compositions(items: list[Item], normal: str) -> Iterator[Composition]:
    """Every way to put the items together; the natural order of speech comes first."""
    meant = without_slips(items)
    if meant is None:
        yield Composition((), UNREADABLE)
        return
    items = meant
    for follows, takes, on_ovary in product((False, True), (True, False), (True, False)):
        yield _compose(items, normal, _Way(follows, takes, on_ovary))


def _compose(items: list[Item], normal: str, way: _Way) -> Composition:
    draft = _Draft()
    for index, item in enumerate(items):
        content = item.content
        if isinstance(content, Place):
            continue
        if isinstance(content, Ovary | Uterus | Remark):
            if isinstance(content, Ovary) and content.count is None:
                draft.problems += number_taken_from(items, index, normal)
                draft.problems += few_of_the_next(items, index)
            _with_place(draft, items, index, way)
        elif isinstance(content, Pregnancy):
            _pregnancy(draft, items, index, way)
        elif isinstance(content, GravidSide):
            _gravid_side(draft, item, content)
        elif isinstance(content, Age):
            draft.problems += rest_of_a_number(items, index, content, normal)
            _age(draft, items, index, content, way)
        elif isinstance(content, Arrangement):
            _arrangement(draft, items, index, content)
        else:
            _as_said(draft, item, content)
            draft.problems += belongs_to_neighbour(items, index)
            if _shows_where(content):
                _carried_where(draft, items, index, way)
    _places_left_over(draft, items)
    draft.said.sort(key=lambda entry: entry[1])
    _say_once(draft)
    said = tuple(Said(what, start, end, normal[start:end]) for what, start, end in draft.said)
    return Composition(said, draft.problems)


def _say_once(draft: _Draft) -> None:
    """A finding repeated word for word in a breath is emphasis ("open, open"), and counts once.

    Not so on ovaries: two follicles may well have one size.
    """
    kept: list[tuple[Finding | Command, int, int]] = []
    for entry in draft.said:
        if isinstance(entry[0], Ovary | Command) or all(entry[0] != k[0] for k in kept):
            kept.append(entry)
    draft.said = kept


def _as_said(draft: _Draft, item: Item, content: Finding | Command) -> None:
    """A finding or command that needs nothing from its neighbours, but for "next, cow 412"."""
    named = content.animal if isinstance(content, Command) else None
    if named is not None and named.tag == "0":
        draft.problems += UNREADABLE
    if named is not None and named.tag_alone and len(named.tag or "") < FEWEST_DIGITS_AFTER_NEXT:
        draft.problems += UNREADABLE  # "next one" names no animal
    if isinstance(content, Animal):
        if content.tag == "0":
            draft.problems += UNREADABLE  # "cow oh" is a cow and a sigh
        if content.tag_alone and len(content.tag or "") < FEWEST_DIGITS_ALONE:
            draft.problems += UNREADABLE
        last = draft.said[-1] if draft.said else None
        if last is not None and last[0] == Command(CommandName.NEXT_ANIMAL):
            draft.said[-1] = (Command(CommandName.NEXT_ANIMAL, animal=content), last[1], item.end)
            return
    draft.said.append((content, item.start, item.end))


def _place_for(items: list[Item], index: int, way: _Way, fits: frozenset[PlaceKind]) -> int | None:
    """Index of the place that an item belongs to."""
    if way.side_follows and index + 1 < len(items):
        after = items[index + 1].content
        if isinstance(after, Place) and after.kind in fits:
            return index + 1
    for before in range(index - 1, -1, -1):
        content = items[before].content
        if isinstance(content, Place) and content.kind in fits:
            return before
    return None


def _with_place(draft: _Draft, items: list[Item], index: int, way: _Way) -> None:
    item = items[index]
    content = item.content
    if isinstance(content, Remark) and content.place is not None:
        place: Place | None = content.place
        start, end = item.start, item.end
    else:
        at = None
        if not (isinstance(content, Ovary) and content.side is not None):
            at = _place_for(items, index, way, _FITS[type(content)])
        place = None
        start, end = item.start, item.end
        if at is not None:
            draft.used.add(at)
            if at > index:
                draft.used_by_earlier.add(at)
            found = items[at]
            place = found.content if isinstance(found.content, Place) else None
            named = place is not None and place.kind is not PlaceKind.SIDE
            if named and at < index and at in draft.used_by_earlier:
                draft.problems += _SHARED
            if abs(at - index) == 1:
                start, end = min(start, found.start), max(end, found.end)
    for finding in _placed(draft, content, place, way):
        draft.said.append((finding, start, end))


def _placed(draft: _Draft, content: object, place: Place | None, way: _Way) -> Iterator[Finding]:
    if isinstance(content, Ovary):
        if content.side is None and place is None:
            draft.problems += _LEFT_OVER
        yield content if place is None else dataclasses.replace(content, side=place.side)
    elif isinstance(content, Uterus):
        yield content if place is None else dataclasses.replace(content, side=place.side)
    elif isinstance(content, Remark):
        if place is None and content.kind not in {RemarkKind.CLEAR, RemarkKind.ADHESION}:
            draft.problems += UNREADABLE
        yield from _remark(content.kind, place, way)


_STATIONS: dict[tuple[PlaceKind, Side | None], tuple[SweepStructure, ...]] = {
    (PlaceKind.OVARY, Side.LEFT): (SweepStructure.LEFT_OVARY,),
    (PlaceKind.OVARY, Side.RIGHT): (SweepStructure.RIGHT_OVARY,),
    (PlaceKind.OVARY, Side.BOTH): (SweepStructure.LEFT_OVARY, SweepStructure.RIGHT_OVARY),
    (PlaceKind.UTERUS, Side.LEFT): (SweepStructure.LEFT_HORN,),
    (PlaceKind.UTERUS, Side.RIGHT): (SweepStructure.RIGHT_HORN,),
    (PlaceKind.UTERUS, Side.BOTH): (SweepStructure.LEFT_HORN, SweepStructure.RIGHT_HORN),
    (PlaceKind.UTERUS, Side.BODY): (SweepStructure.BODY,),
    (PlaceKind.UTERUS, None): (
        SweepStructure.BODY,
        SweepStructure.LEFT_HORN,
        SweepStructure.RIGHT_HORN,
    ),
    (PlaceKind.CERVIX, None): (SweepStructure.CERVIX,),
}
_SEEN_AS = {
    RemarkKind.NORMAL: SeenRemark.NORMAL,
    RemarkKind.CLEAR: SeenRemark.NORMAL,
    RemarkKind.NOTHING: SeenRemark.NORMAL,
    RemarkKind.ADHESION: None,
    RemarkKind.NOT_SEEN: SeenRemark.NOT_SEEN,
    RemarkKind.COULD_NOT_REACH: SeenRemark.COULD_NOT_REACH,
}


def _remark(kind: RemarkKind, place: Place | None, way: _Way) -> Iterator[Finding]:
    if place is not None and place.kind is PlaceKind.SIDE:
        # "nothing on the left" means the ovary; for other remarks both meanings are shown
        ovary = way.remark_on_ovary or kind is RemarkKind.NOTHING
        place = Place(PlaceKind.OVARY if ovary else PlaceKind.UTERUS, place.side)
    if place is None or place.kind is PlaceKind.UTERUS:
        side = None if place is None else place.side
        state = {
            RemarkKind.CLEAR: UterineState.CLEAR,
            RemarkKind.NORMAL: UterineState.CLEAR,
            RemarkKind.NOTHING: UterineState.CLEAR,
            RemarkKind.ADHESION: UterineState.ADHESION,
        }.get(kind)
        if state is not None:
            yield Uterus(side, state)
            return
    elif place.kind is PlaceKind.OVARY:
        structure = {
            RemarkKind.NOTHING: OvarianStructure.NONE,
            RemarkKind.ADHESION: OvarianStructure.ADHESION,
        }.get(kind)
        if structure is not None:
            yield Ovary(place.side, structure)
            return
    if place is not None:
        for station in _STATIONS[place.kind, place.side]:
            yield Seen(station, _SEEN_AS[kind])


# ---- pregnancies


def _needs_place(items: list[Item], index: int, kind: PlaceKind) -> bool:
    """Whether the item at that index would itself take a place of that kind."""
    if index >= len(items):
        return False
    fits = _FITS.get(type(items[index].content))
    return fits is not None and kind in fits


def _pregnancy(draft: _Draft, items: list[Item], index: int, way: _Way) -> None:
    item = items[index]
    content = item.content
    assert isinstance(content, Pregnancy)
    start, end = item.start, item.end
    if content.side is None and content.status is PregnancyStatus.PREGNANT:
        at = _gravid_place(items, index, way)
        if at is not None:
            place = items[at]
            assert isinstance(place.content, Place)
            draft.used.add(at)
            content = dataclasses.replace(content, side=place.content.side)
            start, end = min(start, place.start), max(end, place.end)
    if any(isinstance(s[0], Pregnancy) and s[0].status is not content.status for s in draft.said):
        draft.problems += UNREADABLE  # "not sure, pregnant" is one answer too many
    draft.said.append((content, start, end))


def _gravid_place(items: list[Item], index: int, way: _Way) -> int | None:
    """Index of an adjacent place that says in which horn; an age may stand between."""
    after = index + 1
    if after < len(items) and isinstance(items[after].content, Age):
        after += 1
    if after < len(items):
        place = items[after].content
        if (
            isinstance(place, Place)
            and place.kind in _GRAVID
            and not (place.kind is PlaceKind.UTERUS and _is_clear(items, after + 1))
            and (way.gravid_takes or not _needs_place(items, after + 1, place.kind))
        ):
            return after
    if index > 0:
        place = items[index - 1].content
        if isinstance(place, Place) and place.kind is PlaceKind.UTERUS and place.side is not None:
            return index - 1
    return None


def _is_clear(items: list[Item], index: int) -> bool:
    """Whether the place before is said to be clear; it then carries nothing."""
    content = items[index].content if index < len(items) else None
    clear = {RemarkKind.CLEAR, RemarkKind.NORMAL, RemarkKind.NOTHING}
    return isinstance(content, Remark) and content.place is None and content.kind in clear


def _shows_where(content: object) -> bool:
    """An embryo or a single calf lies in one horn; where it is said to, she carries there."""
    if isinstance(content, Conceptus):
        return content.count == 1
    return isinstance(content, Landmark) and content.seen and content.name is LandmarkName.EMBRYO


def _carried_where(draft: _Draft, items: list[Item], index: int, way: _Way) -> None:
    at = _gravid_place(items, index, way)
    if at is None or at in draft.used:
        return
    place = items[at].content
    if isinstance(place, Place) and place.side in {Side.LEFT, Side.RIGHT}:
        draft.used.add(at)
        _gravid_side(draft, items[at], GravidSide(place.side))


def _last(draft: _Draft, kind: type) -> int | None:
    for at in range(len(draft.said) - 1, -1, -1):
        if isinstance(draft.said[at][0], kind):
            return at
    return None


def _gravid_side(draft: _Draft, item: Item, content: GravidSide) -> None:
    at = _last(draft, Pregnancy)
    if at is None:
        assumed = Pregnancy(PregnancyStatus.PREGNANT, side=content.side, status_assumed=True)
        draft.said.append((assumed, item.start, item.end))
        return
    pregnancy, start, end = draft.said[at]
    assert isinstance(pregnancy, Pregnancy)
    if pregnancy.side not in (None, content.side):
        draft.problems += _LEFT_OVER
    if pregnancy.status is PregnancyStatus.OPEN:
        draft.problems += UNREADABLE
    draft.said[at] = (dataclasses.replace(pregnancy, side=content.side), start, max(end, item.end))


def _age(draft: _Draft, items: list[Item], index: int, age: Age, way: _Way) -> None:
    item = items[index]
    if age.pair and not age.age_days < (age.age_to_days or 0) <= _WIDEST_PAIR * age.age_days:
        draft.problems += UNREADABLE
    fields: dict[str, object] = {
        "age_days": age.age_days,
        "age_to_days": age.age_to_days,
        "approximate": age.approximate,
        "stated_as": age.stated_as,
    }
    at = _last(draft, Pregnancy)
    if at is not None:
        pregnancy, start, end = draft.said[at]
        assert isinstance(pregnancy, Pregnancy)
        if pregnancy.age_days is None and pregnancy.status is not PregnancyStatus.OPEN:
            draft.said[at] = (
                dataclasses.replace(pregnancy, **fields),  # type: ignore[arg-type]
                start,
                max(end, item.end),
            )
            return
    follower = items[index + 1] if index + 1 < len(items) else None
    if follower is not None and isinstance(follower.content, Pregnancy) and at is None:
        # "about forty days pregnant": handed on to the pregnancy that follows
        items[index + 1] = Item(
            dataclasses.replace(follower.content, **fields),  # type: ignore[arg-type]
            item.start,
            follower.end,
        )
        return
    if at is not None:
        draft.problems += UNREADABLE  # a second age in a breath: more likely one number cut in two
    before = items[index - 1].content if index else None
    if isinstance(before, Plan) and before.in_days is None and before.on_date is None:
        draft.problems += UNREADABLE  # "device out day seven" says when, not how old
    at = _gravid_place(items, index, way)
    place = None if at is None else items[at].content
    if at is not None and isinstance(place, Place) and at not in draft.used:
        draft.used.add(at)
        fields["side"] = place.side
    alone = Pregnancy(PregnancyStatus.PREGNANT, status_assumed=True, **fields)  # type: ignore[arg-type]
    draft.said.append((alone, item.start, item.end))


def _arrangement(draft: _Draft, items: list[Item], index: int, arrangement: Arrangement) -> None:
    item = items[index]
    at = _last(draft, Conceptus)
    if at is None:
        if any(isinstance(i.content, Ovary | Uterus) for i in items[:index]):
            draft.problems += UNREADABLE  # "CLs, one each side" are no twins
        draft.said.append((Conceptus(2, arrangement), item.start, item.end))
        return
    conceptus, start, end = draft.said[at]
    assert isinstance(conceptus, Conceptus)
    draft.said[at] = (
        dataclasses.replace(conceptus, arrangement=arrangement),
        start,
        max(end, item.end),
    )


def _places_left_over(draft: _Draft, items: list[Item]) -> None:
    """A place with nothing said of it: the station was named, and no more."""
    for index, item in enumerate(items):
        if not isinstance(item.content, Place) or index in draft.used:
            continue
        draft.problems += SIDE_LOST if item.content.kind is PlaceKind.SIDE else _LEFT_OVER
        for station in _STATIONS.get((item.content.kind, item.content.side), ()):
            draft.said.append((Seen(station), item.start, item.end))
