"""The spellings of all terminals of a constraint, as one deterministic automaton over bytes, and
which tokens lead on from each of its places."""

from __future__ import annotations

import re
from bisect import bisect_left
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from importlib import import_module
from typing import Any

import numpy as np
from numpy.typing import NDArray

from dictation.recognition.tokens import TokenTable
from grammar.automaton import NOWHERE, Automaton
from grammar.rules import Expression, Symbol, Times, any_of, in_a_row

# Python's own reader of regular expressions, which lark uses as well.
python_regex: Any = import_module("re._parser")

ROOT = 0
_ASCII = 128


class Lexemes:
    """Where a spelling stands, as the number of a place; ``ROOT`` before its first byte.

    ``after[place]``: byte to the next place. ``whole[place]``: the terminals that are spelled in
    full there; ``ahead[place]``: those that may still be with at least one byte more. Both are sets
    as bits of an integer, one a terminal in the order given.
    Raises ValueError for a regular expression that is not supported.
    """

    def __init__(self, terminals: Sequence[str]) -> None:
        spellings = [spelled(regex) for regex in terminals]
        automaton = Automaton({}, marked=False)
        starts = [
            automaton.of(spelling, automaton.of(Symbol(str(number)), NOWHERE))
            for number, spelling in enumerate(spellings)
        ]
        self.after: list[dict[int, int]] = []
        self.whole: list[int] = []
        self._determine(automaton, starts)
        self.ahead = self._looked_ahead()

    def _determine(self, automaton: Automaton, starts: list[int]) -> None:
        first = automaton.reading(starts)
        numbers = {first: ROOT}
        waiting = [first]
        for places in waiting:
            by_byte: dict[int, list[int]] = {}
            whole = 0
            for read, target in map(automaton.reads.__getitem__, places):
                if isinstance(read, str):
                    whole |= 1 << int(read)
                    continue
                for byte in read:
                    by_byte.setdefault(byte, []).append(target)
            after: dict[int, int] = {}
            for byte, targets in by_byte.items():
                reached = automaton.reading(targets)
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


def spelled(regex: str) -> Expression:
    """A regular expression over bytes, as Python reads it. Raises ValueError where it looks around
    or does something else that no finite automaton does byte by byte."""
    try:
        return _row(python_regex.parse(regex))
    except re.error as error:
        raise ValueError(f"/{regex}/ is no regular expression ({error})") from error
    except _UnsupportedError as error:
        raise ValueError(f"the regular expression /{regex}/ is not supported here") from error


class _UnsupportedError(Exception):
    """What a regular expression asks for that is not done here."""


def _row(parsed: Iterable[tuple[object, Any]]) -> Expression:
    return in_a_row(*(_part(str(kind), value) for kind, value in parsed))


def _part(kind: str, value: Any) -> Expression:
    match kind:
        case "LITERAL":
            return in_a_row(*(Symbol(frozenset((byte,))) for byte in chr(value).encode()))
        case "IN":
            return Symbol(frozenset().union(*(_in_class(str(k), v) for k, v in value)))
        case "BRANCH":
            return any_of(map(_row, value[1]))
        case "SUBPATTERN":
            return _row(value[-1])
        case "MAX_REPEAT":
            return _repeated(*value)
    raise _UnsupportedError


def _in_class(kind: str, value: Any) -> frozenset[int]:
    low, high = value if kind == "RANGE" else (value, value)
    if kind not in {"RANGE", "LITERAL"} or high >= _ASCII:
        raise _UnsupportedError
    return frozenset(range(low, high + 1))


def _repeated(least: int, most: Any, parsed: Iterable[tuple[object, Any]]) -> Expression:
    part = _row(parsed)
    if most == python_regex.MAXREPEAT:
        return in_a_row(*(part,) * least, Times(part, endless=True))
    return in_a_row(*(part,) * least, *(Times(part),) * (most - least))


@dataclass(frozen=True, slots=True)
class Crossing:
    """A token that goes on behind a whole terminal.

    ``spelled``: its bytes so far; ``terminals``: those that are whole there; ``follow``: the bytes
    with which tokens of this beginning go on. Sets as bits of an integer.
    """

    spelled: bytes
    terminals: int
    follow: int


@dataclass(frozen=True, slots=True)
class Spelling:
    """The tokens that go on from a place.

    ``tokens`` [n] stay within one terminal, any of ``terminals`` [n, words of 64 bits];
    ``crossings`` are the places where a token may go over into the next.
    """

    tokens: NDArray[np.int32]
    terminals: NDArray[np.uint64]
    crossings: tuple[Crossing, ...]

    def within(self, allowed: NDArray[np.uint64]) -> NDArray[np.int32]:
        """The tokens that spell one of these terminals."""
        return self.tokens[(self.terminals & allowed).any(axis=1)]


class Spellings:
    """Tokens by the place they go on from; worked out as asked for."""

    def __init__(self, table: TokenTable, lexemes: Lexemes, terminals: int) -> None:
        self.lexemes = lexemes
        self.pieces = table.pieces
        self._number = {p: n for n, p in enumerate(table.pieces) if n not in table.special}
        self._sorted = sorted(self._number)
        self._width = (terminals + 63) // 64
        self._known: dict[tuple[int, bytes], Spelling] = {}

    def bits(self, terminals: int) -> NDArray[np.uint64]:
        """A set of terminals as words of 64 bits."""
        return np.frombuffer(terminals.to_bytes(8 * self._width, "little"), np.uint64)

    def of(self, place: int, before: bytes) -> Spelling:
        """Tokens that begin with ``before`` and whose other bytes go on from ``place``."""
        key = (place, before)
        known = self._known.get(key)
        if known is None:
            known = self._known[key] = self._walk(place, before)
        return known

    def _goes_on(self, spelled: bytes) -> bool:
        """Whether any token begins with these bytes."""
        at = bisect_left(self._sorted, spelled)
        return at < len(self._sorted) and self._sorted[at].startswith(spelled)

    def _walk(self, place: int, before: bytes) -> Spelling:
        tokens: list[int] = []
        terminals: list[int] = []
        crossings: list[Crossing] = []
        waiting = [(place, before)]
        while waiting:
            at, spelled = waiting.pop()
            for byte, target in self.lexemes.after[at].items():
                longer = spelled + bytes((byte,))
                if not self._goes_on(longer):
                    continue
                whole = self.lexemes.whole[target]
                number = self._number.get(longer)
                if number is not None:
                    tokens.append(number)
                    terminals.append(whole | self.lexemes.ahead[target])
                if whole and (follow := self._follow(longer)):
                    crossings.append(Crossing(longer, whole, follow))
                waiting.append((target, longer))
        size = 8 * self._width
        packed = b"".join(t.to_bytes(size, "little") for t in terminals)
        rows = np.frombuffer(packed, np.uint64).reshape(len(tokens), self._width)
        return Spelling(np.array(tokens, np.int32), rows, tuple(crossings))

    def _follow(self, spelled: bytes) -> int:
        """With which bytes a terminal may begin that tokens of this beginning go on with."""
        follow = 0
        for byte in self.lexemes.after[ROOT]:
            if self._goes_on(spelled + bytes((byte,))):
                follow |= 1 << byte
        return follow
