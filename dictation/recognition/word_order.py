"""Which terminals of a constraint may follow which: its automaton, made deterministic.

Where an utterance stands between two words is one of a finite number of places. They are worked out
as they are first met.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from grammar.automaton import NOWHERE, Automaton
from grammar.rules import Name, Rules, Symbol

END_OF_ALL = 0
"""The terminal that stands for the end of an utterance."""
_END, _BLANK = Symbol("the end"), Symbol("the blank with which the model begins its text")


def _members(bits: int) -> Iterator[int]:
    while bits:
        lowest = bits & -bits
        yield lowest.bit_length() - 1
        bits ^= lowest


class WordOrder:
    """Where an utterance stands between two terminals, as the number of a place.

    ``terminals``: their regular expressions, in the order of their numbers; the first is the end
    of all and has no spelling. Raises ValueError for rules that lead nowhere or in a circle.
    """

    def __init__(self, rules: Rules) -> None:
        reached = rules.reached("start")
        self.terminals = ("", " ", *(rules.terminals[name] for name in reached))
        self._names = (_END.read, _BLANK.read, *reached)
        self._bits = {name: 1 << number for number, name in enumerate(self._names)}
        self._automaton = Automaton(rules.named)
        end = self._automaton.of(_END, NOWHERE)
        self._first = self._automaton.of(_BLANK, self._automaton.of(Name("start"), end))
        self.forget()

    def forget(self) -> None:
        """Drop all places but the start, and their numbers."""
        self._numbers: dict[tuple[int, ...], int] = {}
        self._places: list[tuple[int, ...]] = []
        self._next: dict[tuple[int, int], int] = {}
        self._allowed: list[int] = []
        self.start = self._number((self._first,))

    def allowed(self, place: int) -> int:
        """The terminals that may come next, as bits of an integer."""
        return self._allowed[place]

    def after(self, place: int, terminals: int) -> int:
        """The place behind any of these terminals, of which at least one is allowed."""
        key = (place, terminals)
        known = self._next.get(key)
        if known is None:
            names = [self._names[number] for number in _members(terminals)]
            ways = (self._automaton.ways(n, name) for n in self._places[place] for name in names)
            known = self._next[key] = self._number({node for way in ways for _, node in way})
        return known

    def _number(self, nodes: Iterable[int]) -> int:
        ordered = tuple(sorted(nodes))
        known = self._numbers.get(ordered)
        if known is None:
            known = self._numbers[ordered] = len(self._places)
            self._places.append(ordered)
            allowed = 0
            for name in frozenset().union(*map(self._automaton.first, ordered)):
                allowed |= self._bits[name]
            self._allowed.append(allowed)
        return known
