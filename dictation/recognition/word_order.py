"""Which terminals of a constraint may follow which: its automaton, made deterministic.

Where an utterance stands between two words is one of a finite number of places. They are worked out
as they are first met.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import reduce
from operator import or_

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
    of all and has no spelling.
    """

    def __init__(self, rules: Rules) -> None:
        self.terminals = ("", " ", *rules.terminals.values())
        self._names = (_END.read, _BLANK.read, *rules.terminals)
        self._bits = {name: 1 << number for number, name in enumerate(self._names)}
        self._firsts: dict[int, int] = {}
        self._automaton = Automaton(rules.named, marked=False)
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
            reached: set[int] = set()
            for node in self._places[place]:
                for number in _members(terminals & self._first_of(node)):
                    ways = self._automaton.ways(node, self._names[number])
                    reached.update(behind for _, behind in ways)
            known = self._next[key] = self._number(reached)
        return known

    def _number(self, nodes: Iterable[int]) -> int:
        ordered = tuple(sorted(nodes))
        known = self._numbers.get(ordered)
        if known is None:
            known = self._numbers[ordered] = len(self._places)
            self._places.append(ordered)
            self._allowed.append(reduce(or_, map(self._first_of, ordered)))
        return known

    def _first_of(self, node: int) -> int:
        """The terminals that may come next at a node, as bits of an integer."""
        known = self._firsts.get(node)
        if known is None:
            first = (self._bits[name] for name in self._automaton.first(node))
            known = self._firsts[node] = reduce(or_, first, 0)
        return known
