"""The spellings of all terminals of a constraint, as one deterministic automaton over bytes."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from importlib import import_module
from typing import Any

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
