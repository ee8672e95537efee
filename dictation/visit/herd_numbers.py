"""The numbers of a herd list: which animals a spoken one may mean, whole or as a long one's end.

Numbers are compared by their digits, without zeros before them: spoken, 0837 and 837 are alike, so
on a list that has both they are two animals for one number.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator

from grammar.exam import FEWEST_DIGITS, LONG_FROM, KnownAnimal, digits_of

FEWEST_BESIDE = 4
"""Digits of an end that names an animal with a short number of her own: three are rather a slip in
that one. Of 200 other animals 3 digits end the number of one with a chance of one in five."""


class HerdNumbers:
    """The numbers of a list. ``said in numbers``: whether any animal may be meant."""

    def __init__(self, animals: Iterable[KnownAnimal] = ()) -> None:
        self._animals = tuple(animals)
        self._written: dict[str, KnownAnimal] = {}
        self._whole: dict[str, list[KnownAnimal]] = defaultdict(list)
        self._by_end: dict[str, list[tuple[str, KnownAnimal]]] = defaultdict(list)
        for animal in self._animals:
            if self._written.setdefault(animal.tag, animal) is not animal:
                continue  # of two with one tag, as an old journal may have them, the first is meant
            if plain := digits_of(animal.tag).lstrip("0"):
                self._whole[plain].append(animal)
            for long in animal.long_numbers:
                self._by_end[long[-FEWEST_DIGITS:]].append((long, animal))

    def __bool__(self) -> bool:
        return bool(self._animals)

    def __contains__(self, said: str) -> bool:
        return bool(self.named(said))

    def written(self, tag: str) -> KnownAnimal | None:
        """The animal whose tag stands just so on the list."""
        return self._written.get(tag)

    def named(self, said: str) -> tuple[KnownAnimal, ...]:
        """All animals that a number may mean: by her tag, else by the end of a longer one."""
        plain = digits_of(said)
        if len(plain) != len(said):
            written = self._written.get(said)
            return () if written is None else (written,)
        return tuple(self._whole.get(plain.lstrip("0"), ())) or self._ending(plain)

    def same(self, one: str, other: str) -> bool:
        """Whether both mean the same animals of the list."""
        meant = self.named(one)
        return bool(meant) and meant == self.named(other)

    def spoken(self, digits: int) -> Iterator[str]:
        """The numbers of the list as they are said, where about so many digits are."""
        for animal in self._animals:
            plain = digits_of(animal.tag)
            if plain and len(plain) < LONG_FROM:
                yield plain
            for long in animal.long_numbers:
                for length in (digits - 1, digits, digits + 1):
                    if FEWEST_DIGITS <= length <= len(long):
                        yield long[-length:]

    def _ending(self, plain: str) -> tuple[KnownAnimal, ...]:
        if len(plain) < FEWEST_DIGITS:
            return ()
        found = {
            id(animal): animal
            for long, animal in self._by_end.get(plain[-FEWEST_DIGITS:], ())
            if long.endswith(plain) and len(plain) >= _fewest_of(animal)
        }
        return tuple(found.values())


def _fewest_of(animal: KnownAnimal) -> int:
    short = digits_of(animal.tag)
    return FEWEST_BESIDE if short and len(short) < LONG_FROM else FEWEST_DIGITS
