"""The spellings of all terminals of a constraint, as one deterministic automaton over bytes."""

from __future__ import annotations

from collections.abc import Sequence

from dictation.recognition.constraint_text import Bytes, Either, Expression, Name, Then, Times

ROOT = 0


class Lexemes:
    """Where a spelling stands, as the number of a place; ``ROOT`` before its first byte.

    ``after[place]``: byte to the next place. ``whole[place]``: the terminals that are spelled in
    full there; ``ahead[place]``: those that may still be with at least one byte more. Both are sets
    as bits of an integer, one a terminal in the order given.
    """

    def __init__(self, terminals: Sequence[Expression], named: dict[str, Expression]) -> None:
        net = _Net(named)
        starts = [net.of(expression, net.end_of(n)) for n, expression in enumerate(terminals)]
        self.after: list[dict[int, int]] = []
        self.whole: list[int] = []
        self._determine(net, starts)
        self.ahead = self._looked_ahead()

    def _determine(self, net: _Net, starts: list[int]) -> None:
        first = net.closure(starts)
        numbers = {first: ROOT}
        waiting = [first]
        for places in waiting:
            by_byte: dict[int, list[int]] = {}
            whole = 0
            for place in places:
                if place in net.ends:
                    whole |= 1 << net.ends[place]
                for bytes_, target in net.reads.get(place, ()):
                    for byte in bytes_:
                        by_byte.setdefault(byte, []).append(target)
            after: dict[int, int] = {}
            for byte, targets in by_byte.items():
                reached = net.closure(targets)
                if reached not in numbers:
                    numbers[reached] = len(numbers)
                    waiting.append(reached)
                after[byte] = numbers[reached]
            self.after.append(after)
            self.whole.append(whole)

    def _looked_ahead(self) -> list[int]:
        ahead = [0] * len(self.after)
        changed = True
        while changed:  # twice, unless a spelling may go on without end
            changed = False
            for place in range(len(self.after) - 1, -1, -1):
                found = 0
                for target in self.after[place].values():
                    found |= self.whole[target] | ahead[target]
                if found != ahead[place]:
                    ahead[place], changed = found, True
        return ahead


class _Net:
    """A network with free steps: what a spelling is before it is deterministic."""

    def __init__(self, named: dict[str, Expression]) -> None:
        self._named = named
        self._free: dict[int, list[int]] = {}
        self.reads: dict[int, list[tuple[frozenset[int], int]]] = {}
        self.ends: dict[int, int] = {}
        self._places = 0

    def _new(self) -> int:
        self._places += 1
        return self._places

    def end_of(self, terminal: int) -> int:
        """A place where this terminal is whole."""
        place = self._new()
        self.ends[place] = terminal
        return place

    def of(self, expression: Expression, target: int) -> int:
        """The place from which ``expression`` leads to ``target``."""
        match expression:
            case Bytes():
                place = self._new()
                self.reads[place] = [(expression.any_of, target)]
                return place
            case Then():
                for part in reversed(expression.parts):
                    target = self.of(part, target)
                return target
            case Either():
                place = self._new()
                self._free[place] = [self.of(part, target) for part in expression.parts]
                return place
            case Times():
                place = self._new()
                inner = self.of(expression.part, place if expression.endless else target)
                self._free[place] = [inner, target]
                return inner if expression.least else place
            case Name() if expression.name in self._named:
                return self.of(self._named[expression.name], target)
        raise ValueError(f"'{expression}' cannot stand in a terminal")

    def closure(self, places: Sequence[int]) -> frozenset[int]:
        """All places reached without a byte, those that only lead on left out."""
        seen: set[int] = set()
        waiting = list(places)
        while waiting:
            place = waiting.pop()
            if place not in seen:
                seen.add(place)
                waiting.extend(self._free.get(place, ()))
        return frozenset(p for p in seen if p in self.reads or p in self.ends)
