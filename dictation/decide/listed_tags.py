"""Spoken tags against the herd list: what is listed is likelier, and is never taken in silence.

A tag that is on the list and was surely heard is taken. One that is not on the list is asked about,
the listed tag that was also heard offered first; so is a listed one that another listed tag came
close to. The list never changes a tag by itself. Where there is no list, or the tag was said not to
be on it, any other tag that came close is asked about: nothing else would find the mistake.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from dictation.decide.alike import DIGITS_ALIKE
from grammar.findings import Animal, Command, Finding, Said

NEAR_LISTED_NATS = 5.0
"""Another listed tag whose words are no further behind is asked about. Wider than the recogniser's
own margin for numbers (3.5), since both tags are cows that are there. Our choice, not tuned."""

NEAR_TAG_NATS = 4.5
"""Another tag whose words are no further behind is asked about where no list can decide. Of 390
phrases with a tag (2,600 tuning phrases) 26 more are asked about than by the recogniser's margin,
2 of them wrongly heard. Half a nat of it is caution: with the tag all else is wrong."""

Values = tuple[Said, ...]


@dataclass(frozen=True, slots=True)
class TagDoubt:
    """What the list says of a phrase: which reading comes first, what else is offered, and why."""

    said: Values
    others: tuple[Values, ...]
    why: str


def doubt_of_tag(
    said: Values, heard_otherwise: Sequence[tuple[float, Values]], listed: Iterable[str]
) -> TagDoubt | None:
    """What the herd list, or what else was heard, has against the tag of ``said``; None: nothing.

    ``heard_otherwise``: readings of the other hypotheses, and how many nats they lie behind.
    """
    tags = frozenset(listed)
    animal = _animal_in(said)
    if animal is None or animal.tag is None:
        return None
    tag = animal.tag
    also = _also_heard(tag, heard_otherwise)
    if not tags or animal.listed is False:
        return _near_doubt(said, also)
    also = {other: nats for other, nats in also.items() if other in tags}
    if tag in tags:
        near = [other for other, nats in also.items() if nats <= NEAR_LISTED_NATS]
        if not near:
            return None
        why = f"tag {near[0]} is on the herd list too, and sounded nearly the same"
        return TagDoubt(said, tuple(_with_tag(said, other) for other in near), why)
    if len(also) == 1:
        (only,) = also
        why = f"tag {tag} is not on the herd list, tag {only} is"
        return TagDoubt(_with_tag(said, only), (said,), why)
    offered = tuple(also) or _like(tag, tags)
    why = f"tag {tag} is not on the herd list"
    return TagDoubt(said, tuple(_with_tag(said, other) for other in offered), why)


def _animal_in(said: Values) -> Animal | None:
    """The animal that a phrase names by a tag."""
    for each in said:
        animal = each.what.animal if isinstance(each.what, Command) else each.what
        if isinstance(animal, Animal) and animal.tag is not None:
            return animal
    return None


def _near_doubt(said: Values, also: dict[str, float]) -> TagDoubt | None:
    """Tags that no list can tell apart, and that sounded nearly the same."""
    near = [other for other, nats in also.items() if nats <= NEAR_TAG_NATS]
    return TagDoubt(said, (), f"tag {near[0]} sounded nearly the same") if near else None


def _also_heard(tag: str, heard_otherwise: Sequence[tuple[float, Values]]) -> dict[str, float]:
    """Other tags among the hypotheses, the likeliest first, by nats behind."""
    found: dict[str, float] = {}
    for nats, other in heard_otherwise:
        animal = _animal_in(other)
        if animal is not None and animal.tag is not None and animal.tag != tag:
            found[animal.tag] = min(nats, found.get(animal.tag, nats))
    return dict(sorted(found.items(), key=lambda entry: entry[1]))


def _like(tag: str, tags: frozenset[str]) -> tuple[str, ...]:
    """Listed tags one slip away, those of digits that sound alike first. 58 is like 588."""
    near = sorted((_slip(tag, other), other) for other in tags)
    return tuple(other for slip, other in near if slip < _NO_SLIP)


_NO_SLIP = 9


def _slip(one: str, other: str) -> int:
    """0: a digit that sounds like another; 1: one left out or doubled; 2: another digit."""
    if len(one) == len(other):
        apart = [(a, b) for a, b in zip(one, other, strict=True) if a != b]
        if len(apart) != 1 or len(one) < 2:
            return _NO_SLIP
        return 0 if frozenset(apart[0]) in DIGITS_ALIKE else 2
    short, long = sorted((one, other), key=len)
    if len(long) - len(short) != 1 or len(short) < 2:
        return _NO_SLIP
    return 1 if any(long[:at] + long[at + 1 :] == short for at in range(len(long))) else _NO_SLIP


def _with_tag(said: Values, tag: str) -> Values:
    """The same phrase of another animal."""
    return tuple(replace(each, what=_renamed(each.what, tag)) for each in said)


def _renamed(what: Finding | Command, tag: str) -> Finding | Command:
    if isinstance(what, Command) and what.animal is not None:
        return replace(what, animal=replace(what.animal, tag=tag))
    return replace(what, tag=tag) if isinstance(what, Animal) else what
