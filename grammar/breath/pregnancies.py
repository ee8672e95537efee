"""Ages, horns and arrangements of a breath put to the pregnancy and the calves they belong to."""

from __future__ import annotations

from dataclasses import replace

from grammar.breath.draft import Against, Draft
from grammar.breath.places import takes_place
from grammar.findings import (
    Arrangement,
    Conceptus,
    Landmark,
    LandmarkName,
    Ovary,
    Plan,
    Pregnancy,
    PregnancyStatus,
    Side,
    Uterus,
)
from grammar.statements.items import Age, Item, Place, PlaceKind, Remark, RemarkKind

# A second number of a pair ("forty, forty-five days") is more, and at most so many times the first.
_WIDEST_PAIR = 2
_GRAVID = frozenset({PlaceKind.UTERUS, PlaceKind.SIDE})
_CLEAR = frozenset({RemarkKind.CLEAR, RemarkKind.NORMAL, RemarkKind.NOTHING})


def say_pregnancy(draft: Draft, index: int, pregnancy: Pregnancy) -> None:
    """A status with its horn, and with the age that stood before it."""
    item = draft.items[index]
    last = draft.last(Pregnancy)
    if last is not None and isinstance(last.what, Pregnancy) and _one_stage(last.what, pregnancy):
        stage = last.what.stage or pregnancy.stage
        last.becomes(replace(last.what, stage=stage), item)  # "pregnant, springing"
        return
    start, end = item.start, item.end
    if draft.age_ahead is not None:
        (age, start), draft.age_ahead = draft.age_ahead, None
        pregnancy = _aged(pregnancy, age)
    if pregnancy.side is None and pregnancy.status is PregnancyStatus.PREGNANT:
        at = _gravid_place(draft, index)
        if at is not None:
            place = draft.items[at]
            pregnancy = replace(pregnancy, side=_used_side(draft, at))
            start, end = min(start, place.start), max(end, place.end)
    said = (entry.what for entry in draft.said)
    if any(isinstance(s, Pregnancy) and s.status is not pregnancy.status for s in said):
        draft.problems += Against.UNREADABLE  # "not sure, pregnant" is one answer too many
    draft.say(pregnancy, Item(pregnancy, start, end))


def _one_stage(one: Pregnancy, other: Pregnancy) -> bool:
    """Whether one of them adds no more to the other than how far she is."""
    return (
        one.status is other.status
        and (
            other == Pregnancy(other.status, stage=other.stage) and None in (one.stage, other.stage)
        )
        and one.stage is not other.stage
    )


def _used_side(draft: Draft, at: int) -> Side | None:
    place = draft.content(at)
    assert isinstance(place, Place)
    draft.used.add(at)
    return place.side


def _gravid_place(draft: Draft, index: int) -> int | None:
    """Index of an adjacent place that says in which horn; an age may stand between."""
    after = index + 2 if isinstance(draft.content(index + 1), Age) else index + 1
    place, following = draft.content(after), draft.content(after + 1)
    if (
        isinstance(place, Place)
        and place.kind in _GRAVID
        and not (place.kind is PlaceKind.UTERUS and _says_clear(following))
        and (draft.way.gravid_takes or not takes_place(following, place.kind))
    ):
        return after
    before = draft.content(index - 1)
    if isinstance(before, Place) and before.kind is PlaceKind.UTERUS and before.side is not None:
        return index - 1
    return None


def _says_clear(content: object) -> bool:
    """Whether the place before is said to be clear; it then carries nothing."""
    return isinstance(content, Remark) and content.place is None and content.kind in _CLEAR


def say_where_carried(draft: Draft, index: int) -> None:
    """An embryo or a single calf lies in one horn; where it is said to, she carries there."""
    content = draft.content(index)
    embryo = isinstance(content, Landmark) and content.name is LandmarkName.EMBRYO and content.seen
    if not embryo and not (isinstance(content, Conceptus) and content.count == 1):
        return
    at = _gravid_place(draft, index)
    if at is not None and at not in draft.used:
        place = draft.content(at)
        if isinstance(place, Place) and place.side in {Side.LEFT, Side.RIGHT}:
            draft.used.add(at)
            say_gravid_side(draft, draft.items[at], place.side)


def say_gravid_side(draft: Draft, item: Item, side: Side) -> None:
    """A side that belongs to the pregnancy said last, or says by itself that she is pregnant."""
    entry = draft.last(Pregnancy)
    if entry is None:
        draft.problems += Against.LEFT_OVER  # "fluid in the left" is of the fluid
        draft.say(Pregnancy(PregnancyStatus.PREGNANT, side=side, status_assumed=True), item)
        return
    pregnancy = entry.what
    assert isinstance(pregnancy, Pregnancy)
    if pregnancy.side not in (None, side):
        draft.problems += Against.LEFT_OVER
    if pregnancy.status is PregnancyStatus.OPEN:
        draft.problems += Against.UNREADABLE
    entry.becomes(replace(pregnancy, side=side), item)


def say_age(draft: Draft, index: int, age: Age) -> None:
    """An age belongs to the pregnancy said last, to the one that follows, or stands alone."""
    if age.pair and not age.age_days < (age.age_to_days or 0) <= _WIDEST_PAIR * age.age_days:
        draft.problems += Against.UNREADABLE
    entry = draft.last(Pregnancy)
    said = None if entry is None else entry.what
    if entry is not None and isinstance(said, Pregnancy) and _lacks_age(said):
        entry.becomes(_aged(said, age), draft.items[index])
    elif entry is None and isinstance(draft.content(index + 1), Pregnancy):
        draft.age_ahead = age, draft.items[index].start  # "about forty days pregnant"
    else:
        if entry is not None:
            draft.problems += Against.UNREADABLE  # more likely one number cut in two
        _say_age_alone(draft, index, age)


def _lacks_age(pregnancy: Pregnancy) -> bool:
    return pregnancy.age_days is None and pregnancy.status is not PregnancyStatus.OPEN


def _aged(pregnancy: Pregnancy, age: Age) -> Pregnancy:
    return replace(
        pregnancy,
        age_days=age.age_days,
        age_to_days=age.age_to_days,
        approximate=age.approximate,
        stated_as=age.stated_as,
    )


def _say_age_alone(draft: Draft, index: int, age: Age) -> None:
    before = draft.content(index - 1)
    if isinstance(before, Plan) and before.in_days is None and before.on_date is None:
        draft.problems += Against.UNREADABLE  # "device out day seven" says when, not how old
    at = _gravid_place(draft, index)
    side = _used_side(draft, at) if at is not None and at not in draft.used else None
    assumed = Pregnancy(PregnancyStatus.PREGNANT, side=side, status_assumed=True)
    draft.say(_aged(assumed, age), draft.items[index])


def say_arrangement(draft: Draft, index: int, arrangement: Arrangement) -> None:
    """How twins lie; said alone, it says that there are twins."""
    entry = draft.last(Conceptus)
    if entry is None:
        if any(isinstance(item.content, Ovary | Uterus) for item in draft.items[:index]):
            draft.problems += Against.UNREADABLE  # "CLs, one each side" are no twins
        draft.say(Conceptus(2, arrangement), draft.items[index])
    elif isinstance(entry.what, Conceptus):
        entry.becomes(replace(entry.what, arrangement=arrangement), draft.items[index])
