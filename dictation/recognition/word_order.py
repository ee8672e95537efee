"""Which terminals of a constraint may follow which: its rules as an automaton over terminals.

exam.lark has no rule that contains itself, so its language is regular, and where an utterance
stands in it is one of a finite number of places. They are worked out as they are first met.
"""

from __future__ import annotations

from collections.abc import Iterator

from dictation.recognition.constraint_text import (
    Bytes,
    Either,
    Expression,
    Literal,
    Name,
    Then,
    Times,
    is_terminal,
)

END_OF_ALL = 0
"""The terminal that stands for the end of an utterance."""

_Positions = tuple[int, ...]


def _members(bits: int) -> Iterator[int]:
    while bits:
        lowest = bits & -bits
        yield lowest.bit_length() - 1
        bits ^= lowest


class WordOrder:
    """Where an utterance stands between two terminals, as the number of a place.

    ``terminals``: the expressions of the terminals met, in the order of their numbers; the first
    is the end of all and has no spelling.
    """

    def __init__(self, definitions: dict[str, Expression], start: str) -> None:
        self._definitions = definitions
        self.terminals: list[Expression] = [Then(())]
        self._terminal_numbers: dict[int | Expression, int] = {}
        self._free: list[list[int]] = []
        self._reads: dict[int, tuple[int, int]] = {}
        self._made: dict[tuple[int, int], int] = {}
        self._read_places: dict[tuple[int, int], int] = {}
        self._under_way: list[str] = []
        end = self._read(END_OF_ALL, self._split([]))
        first = self._named(start, end)
        self._closures: dict[int, frozenset[int]] = {}
        self._first = self._closure(first)
        self.forget()

    def forget(self) -> None:
        """Drop all places but the start, and their numbers."""
        self._numbers: dict[_Positions, int] = {}
        self._places: list[_Positions] = []
        self._targets: dict[int, dict[int, list[int]]] = {}
        self._next: dict[tuple[int, int], int] = {}
        self._allowed: list[int] = []
        self.start = self._number(self._first)

    def allowed(self, place: int) -> int:
        """The terminals that may come next, as bits of an integer."""
        return self._allowed[place]

    def after(self, place: int, terminals: int) -> int:
        """The place behind any of these terminals, of which at least one is allowed."""
        key = (place, terminals)
        known = self._next.get(key)
        if known is None:
            behind = self._behind(place)
            reached: set[int] = set()
            for terminal in _members(terminals):
                reached.update(*map(self._closure, behind.get(terminal, ())))
            known = self._next[key] = self._number(reached)
        return known

    def _behind(self, place: int) -> dict[int, list[int]]:
        """The nodes behind each terminal that may come next."""
        known = self._targets.get(place)
        if known is None:
            known = self._targets[place] = {}
            for node in self._places[place]:
                terminal, target = self._reads[node]
                known.setdefault(terminal, []).append(target)
        return known

    def _number(self, positions: set[int] | frozenset[int]) -> int:
        ordered = tuple(sorted(positions))
        known = self._numbers.get(ordered)
        if known is None:
            known = self._numbers[ordered] = len(self._places)
            self._places.append(ordered)
            allowed = 0
            for terminal in {self._reads[node][0] for node in ordered}:
                allowed |= 1 << terminal
            self._allowed.append(allowed)
        return known

    def _closure(self, node: int) -> frozenset[int]:
        """The nodes with a terminal that are reached from a node without one."""
        known = self._closures.get(node)
        if known is None:
            seen: set[int] = set()
            waiting = [node]
            while waiting:
                at = waiting.pop()
                if at not in seen:
                    seen.add(at)
                    waiting.extend(self._free[at])
            known = frozenset(seen & self._reads.keys())
            self._closures[node] = known
        return known

    def _split(self, targets: list[int]) -> int:
        self._free.append(targets)
        return len(self._free) - 1

    def _read(self, terminal: int, target: int) -> int:
        """One node for all that read this terminal and go on in the same way."""
        key = (terminal, target)
        if key not in self._read_places:
            node = self._read_places[key] = self._split([])
            self._reads[node] = key
        return self._read_places[key]

    def _of(self, expression: Expression, target: int) -> int:
        """The node from which ``expression`` leads to ``target``."""
        key = (id(expression), target)
        if key not in self._made:
            self._made[key] = self._new(expression, target)
        return self._made[key]

    def _new(self, expression: Expression, target: int) -> int:
        match expression:
            case Then():
                for part in reversed(expression.parts):
                    target = self._of(part, target)
                return target
            case Either():
                return self._split([self._of(part, target) for part in expression.parts])
            case Times(part, least, endless):
                if not endless:
                    return self._split([self._of(part, target), target])
                again = self._split([target])
                inner = self._of(part, again)
                self._free[again].append(inner)
                return inner if least else again
            case Literal():
                return self._read(self._terminal(expression.spelled, expression.spelled), target)
            case Name(name):
                return self._named(name, target)
            case Bytes():
                raise ValueError("a byte cannot stand in a rule")

    def _named(self, name: str, target: int) -> int:
        definition = self._definitions.get(name)
        if definition is None:
            raise ValueError(f"'{name}' is not defined")
        if is_terminal(name):
            return self._read(self._terminal(id(definition), definition), target)
        if name in self._under_way:
            raise ValueError(f"the rule '{name}' contains itself")
        self._under_way.append(name)
        node = self._of(definition, target)
        self._under_way.pop()
        return node

    def _terminal(self, key: int | Expression, spelled: Expression) -> int:
        if key not in self._terminal_numbers:
            self._terminal_numbers[key] = len(self.terminals)
            self.terminals.append(spelled)
        return self._terminal_numbers[key]
