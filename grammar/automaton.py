"""Rules as an automaton: nodes with free steps, and nodes that read one symbol.

No rule contains itself, so what can be read is a finite automaton. Its nodes are worked out where
they are first come to: one phrase meets few of them. A free step may carry a mark: a branch of the
tree of the phrase begins or ends there.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import TypeVar

from grammar.rules import Branch, Either, Expression, Name, Symbol, Then, Times

T = TypeVar("T")
Read = str | frozenset[int]
Mark = tuple[str, bool]
"""What a branch is called that ends here, and whether it melts."""

BEGINS: Mark = ("", False)
NOWHERE, PASSED = -1, -2
"""The target of what nothing follows; that of an expression looked at by itself."""
NOTHING = "nothing"
Way = tuple[tuple[Mark, ...], int]
"""Where branches begin and end before a symbol is read, and the node behind it."""


class Automaton:
    """The nodes of some rules. ``reads``: what a node reads, and the node behind it.

    ``marked``: whether branches are told; without, fewer nodes differ.
    """

    def __init__(self, named: Mapping[str, Expression], *, marked: bool) -> None:
        self._named = named
        self._marked = marked
        self._free: dict[int, tuple[int, ...]] = {}
        self._shut: dict[int, tuple[Expression, int]] = {}
        self._made: dict[object, int] = {}
        self.reads: dict[int, tuple[Read, int]] = {}
        self._marks: dict[int, Mark] = {}
        self._first: dict[int, frozenset[Read]] = {PASSED: frozenset((NOTHING,))}
        self._ways: dict[tuple[int, Read], tuple[Way, ...]] = {}

    def of(self, expression: Expression, target: int) -> int:
        """The node from which an expression leads to ``target``; one for each two of them."""
        match expression:
            case Name(name):
                return self.of(self._named[name], target)
            case Symbol(read):
                return self._node(("reads", read, target), self.reads, (read, target))
            case Branch(part) if not self._marked:
                return self.of(part, target)
        return self._node((id(expression), target), self._shut, (expression, target))

    def free(self, node: int) -> tuple[int, ...]:
        """The nodes that are reached from a node without reading, in the order of the rules."""
        if node in self._shut:
            self._free[node] = tuple(dict.fromkeys(self._steps(node, *self._shut.pop(node))))
        return self._free.get(node, ())

    def _steps(self, node: int, expression: Expression, target: int) -> Iterator[int]:
        match expression:
            case Then(parts):
                for part in reversed(parts):
                    target = self.of(part, target)
                yield target
            case Either(parts):
                yield from (self.of(part, target) for part in parts)
            case Times(part, endless):
                yield from (self.of(part, node if endless else target), target)
            case Branch(part, data, melts):
                self._marks[node] = BEGINS
                end = self._node(("ends", data, melts, target), self._marks, (data, melts))
                self._free[end] = (target,)
                yield self.of(part, end)

    def first(self, node: int) -> frozenset[Read]:
        """What may be read next at a node; ``NOTHING`` where an expression is passed unread."""
        known = self._first.get(node)
        if known is not None:
            return known
        if node in self.reads:
            known = frozenset((self.reads[node][0],))
        elif node in self._shut and self._shut[node][1] != PASSED:
            expression, target = self._shut[node]
            known = self.first(self.of(expression, PASSED))
            if NOTHING in known:
                known = known - {NOTHING} | self.first(target)
        else:
            known = frozenset().union(*map(self.first, self.free(node)))
        self._first[node] = known
        return known

    def ways(self, node: int, read: Read) -> tuple[Way, ...]:
        """All ways from a node over the reading of a symbol, in the order of the rules."""
        known = self._ways.get((node, read))
        if known is None:
            known = self._ways[node, read] = tuple(self._found(node, read))
        return known

    def _found(self, node: int, read: Read) -> Iterator[Way]:
        if read not in self.first(node):
            return
        if node in self.reads:
            yield (), self.reads[node][1]
            return
        steps = self.free(node)
        mark = self._marks.get(node)
        for step in steps:
            for marks, behind in self._found(step, read):
                yield marks if mark is None else (mark, *marks), behind

    def reading(self, nodes: Iterable[int]) -> frozenset[int]:
        """All nodes that read something and are reached from these without reading."""
        seen: set[int] = set()
        waiting = list(nodes)
        while waiting:
            node = waiting.pop()
            if node not in seen:
                seen.add(node)
                waiting.extend(self.free(node))
        return frozenset(seen & self.reads.keys())

    def _node(self, key: object, kept: dict[int, T], value: T) -> int:
        """The node of that key; a new one is kept with its value."""
        node = self._made.get(key)
        if node is None:
            node = self._made[key] = len(self._made)
            kept[node] = value
        return node
