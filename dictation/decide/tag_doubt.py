"""What the herd list, or what else was heard, has against a tag.

A tag on the herd list that was surely heard is taken. One that is not on it is asked about, the
listed tag that was also heard offered first; so is a listed one that another listed tag came close
to. The list never changes a tag by itself. Where there is no list, or the tag was said not to be on
it, any other tag that came close is asked about: nothing else would find the mistake.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from dictation.decide.doubt import DIGITS_ALIKE
from dictation.decide.rivals import animals_in
from dictation.visit.herd_numbers import HerdNumbers
from grammar.findings import Animal, Command, Finding, Said

Values = tuple[Said, ...]

NEAR_LISTED_NATS = 5.0
"""Another listed tag whose words are no further behind is asked about. Wider than the recogniser's
own margin in quiet (2.5), since both tags are cows that are there. Our choice, not tuned."""

NEAR_TAG_NATS = 4.5
"""Another tag whose words are no further behind is asked about where no list can decide, however
sure the rest is, unless the untaught model writes the same tag. Of the tune side's tags by people
it wrote 275, of which 272 were right; of the 91 that it could not write 11 were wrong. With the tag
all else is wrong."""


@dataclass(frozen=True, slots=True)
class TagDoubt:
    """What the list says of a phrase: which reading comes first, what else is offered, and why."""

    said: Values
    others: tuple[Values, ...]
    why: str


def doubt_of_tag(
    said: Values,
    heard_otherwise: Sequence[tuple[float, Values]],
    listed: HerdNumbers,
    borne_out: Values = (),
) -> TagDoubt | None:
    """What the herd list, or what else was heard, has against the tag of ``said``; None: nothing.

    ``heard_otherwise``: readings of the other hypotheses, and how many nats they lie behind.
    ``borne_out``: what the untaught model hears, as far as it can be read.
    """
    animal = named_by_tag(said)
    if animal is None or animal.tag is None:
        return None
    tag = animal.tag
    also = _also_heard(tag, heard_otherwise)
    if not listed or animal.listed is False:  # no list can tell them apart
        return _without_a_list(said, tag, also, named_by_tag(borne_out))
    also = {other: nats for other, nats in also.items() if other in listed}
    if tag in listed:
        others = {other: nats for other, nats in also.items() if not listed.same(tag, other)}
        near = [other for other, nats in others.items() if nats <= NEAR_LISTED_NATS]
        if not near:
            return None
        why = f"tag {near[0]} is on the herd list too, and sounded nearly the same"
        return TagDoubt(said, tuple(_with_tag(said, other) for other in near), why)
    if len(also) == 1:
        (only,) = also
        why = f"tag {tag} is not on the herd list, tag {only} is"
        return TagDoubt(_with_tag(said, only), (said,), why)
    offered = tuple(also) or _like(tag, frozenset(listed.spoken(len(tag))))
    why = f"tag {tag} is not on the herd list"
    return TagDoubt(said, tuple(_with_tag(said, other) for other in offered), why)


def _without_a_list(
    said: Values, tag: str, also: Mapping[str, float], second: Animal | None
) -> TagDoubt | None:
    """``second``: the animal that the untaught model hears, if any."""
    if second is not None and second.tag is not None and second.tag != tag:
        why = f"tag {second.tag} sounded nearly the same"
        return TagDoubt(said, (_with_tag(said, second.tag),), why)
    near = [other for other, nats in also.items() if nats <= NEAR_TAG_NATS]
    if second is not None or not near:
        return None
    return TagDoubt(said, (), f"tag {near[0]} sounded nearly the same")


def named_by_tag(said: Values) -> Animal | None:
    """The animal that a phrase names by a tag."""
    return next((animal for animal in animals_in(said) if animal.tag is not None), None)


def _also_heard(tag: str, heard_otherwise: Sequence[tuple[float, Values]]) -> dict[str, float]:
    """Other tags among the hypotheses, the likeliest first, by nats behind."""
    found: dict[str, float] = {}
    for nats, other in heard_otherwise:
        animal = named_by_tag(other)
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
