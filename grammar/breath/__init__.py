"""The items of one breath put together: sides to findings, ages to pregnancies.

Where more than one way of putting together is as good as the best, all are returned: the caller
asks, and never picks one in silence.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import product, starmap

from grammar.breath.draft import Against, Draft, Entry, Way
from grammar.breath.neighbours import (
    belongs_to_neighbour,
    few_of_the_next,
    number_taken_from,
    rest_of_a_number,
)
from grammar.breath.places import say_places_left_over, say_same, with_place
from grammar.breath.pregnancies import (
    say_age,
    say_arrangement,
    say_gravid_side,
    say_pregnancy,
    say_where_carried,
)
from grammar.findings import (
    Animal,
    Arrangement,
    Command,
    CommandName,
    Conceptus,
    Condition,
    Finding,
    Landmark,
    Measurement,
    Ovary,
    Plan,
    Pregnancy,
    Said,
    Uterus,
)
from grammar.statements.items import (
    Age,
    Content,
    GravidSide,
    Item,
    Place,
    PlaceKind,
    Remark,
    Same,
)

# Shorter bare numbers are sizes and ages whose first words were lost, not tags: our choice.
FEWEST_DIGITS_ALONE = 3
FEWEST_DIGITS_AFTER_NEXT = 2
_GRAVID = (Pregnancy, Age, Conceptus, Landmark)
_OF_A_PREGNANCY = (Age, GravidSide)


@dataclass(frozen=True, slots=True)
class Composition:
    """One way to put a breath together. ``problems``: the sum of what speaks against it."""

    said: tuple[Said, ...]
    problems: int


def compositions(items: list[Item], normal: str) -> Iterator[Composition]:
    """Every way to put the items together; the natural order of speech comes first."""
    meant = _without_slips(items)
    if meant is None:
        yield Composition((), Against.UNREADABLE)
        return
    for way in _ways([item.content for item in meant]):
        yield _composed(Draft(meant, normal, way))


def _without_slips(items: list[Item]) -> list[Item] | None:
    """The items that were meant: of a slip, what is said behind "sorry".

    "Pregnant forty days, sorry, open" takes back the pregnancy with its age; "left ovary, sorry,
    right ovary" the place; otherwise a piece takes back only the piece before, of its own kind.
    None where it is not plain what "sorry" takes back.
    """
    meant: list[Item] = []
    for item in items:
        if item.corrects and not _take_back(meant, item):
            return None
        meant.append(item)
    return meant


def _take_back(meant: list[Item], item: Item) -> bool:
    kept = len(meant)
    if isinstance(item.content, Pregnancy):
        while kept and isinstance(meant[kept - 1].content, _OF_A_PREGNANCY):
            kept -= 1
    same_kind = kept and type(meant[kept - 1].content) is type(item.content)
    if not same_kind or not isinstance(item.content, Finding | Age | Place):
        return False
    del meant[kept - 1 :]
    return True


def _ways(contents: list[Content]) -> Iterator[Way]:
    """The ways that differ for these pieces, which is in what becomes of their places."""
    places = [content for content in contents if isinstance(content, Place)]
    bare = any(place.kind is PlaceKind.SIDE for place in places)
    gravid = any(isinstance(content, _GRAVID) for content in contents)
    remark = any(isinstance(content, Remark) for content in contents)
    return starmap(
        Way,
        product(
            (False, True) if places else (False,),
            (True, False) if places and gravid else (True,),
            (True, False) if bare and remark else (True,),
            (True, False) if any(isinstance(content, Same) for content in contents) else (True,),
        ),
    )


def _composed(draft: Draft) -> Composition:
    for index, item in enumerate(draft.items):
        _put(draft, index, item)
    say_places_left_over(draft)
    draft.said.sort(key=lambda entry: entry.start)
    said = (Said(e.what, e.start, e.end, draft.normal[e.start : e.end]) for e in _said_once(draft))
    return Composition(tuple(said), draft.problems)


def _put(draft: Draft, index: int, item: Item) -> None:
    match item.content:
        case Place():
            return
        case Ovary() | Uterus() | Remark() as content:
            draft.problems += few_of_the_next(draft, index)
            counted = isinstance(content, Remark) or getattr(content, "count", None) is not None
            draft.problems += not counted and number_taken_from(draft, index)
            with_place(draft, index, content)
        case Pregnancy() as content:
            say_pregnancy(draft, index, content)
        case GravidSide(side):
            say_gravid_side(draft, item, side)
        case Age() as content:
            draft.problems += rest_of_a_number(draft, index, content)
            counts = isinstance(draft.content(index - 1), Plan | Command)
            draft.problems += counts and number_taken_from(draft, index)
            say_age(draft, index, content)
        case Same(side):
            say_same(draft, item, side)
        case Arrangement() as content:
            say_arrangement(draft, index, content)
        case content:
            _as_said(draft, item, content)
            if isinstance(content, Measurement | Landmark | Condition):
                draft.problems += number_taken_from(draft, index)
            draft.problems += belongs_to_neighbour(draft, index)
            say_where_carried(draft, index)


def _said_once(draft: Draft) -> list[Entry]:
    """A finding repeated word for word in a breath is emphasis ("open, open"), and counts once.

    Not so on ovaries: two follicles may well have one size.
    """
    kept: list[Entry] = []
    for entry in draft.said:
        if isinstance(entry.what, Ovary | Command) or all(entry.what != k.what for k in kept):
            kept.append(entry)
    return kept


def _as_said(draft: Draft, item: Item, content: Finding | Command) -> None:
    """A finding or command that needs nothing from its neighbours, but for "next, cow 412"."""
    if isinstance(content, Command) and content.animal is not None:
        _check_tag(draft, content.animal, FEWEST_DIGITS_AFTER_NEXT)  # "next one" names no animal
    if isinstance(content, Animal):
        _check_tag(draft, content, FEWEST_DIGITS_ALONE)
        last = draft.said[-1] if draft.said else None
        if last is not None and last.what == Command(CommandName.NEXT_ANIMAL):
            last.what, last.end = Command(CommandName.NEXT_ANIMAL, animal=content), item.end
            return
    draft.say(content, item)


def _check_tag(draft: Draft, animal: Animal, fewest_digits: int) -> None:
    if animal.tag == "0":
        draft.problems += Against.UNREADABLE  # "cow oh" is a cow and a sigh
    if animal.tag_alone and len(animal.tag or "") < fewest_digits:
        draft.problems += Against.UNREADABLE
