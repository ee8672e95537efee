"""Which tokens spell what: every token that leads on from a place in the lexemes."""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from dictation.recognition.lexemes import ROOT, Lexemes
from dictation.recognition.tokens import TokenTable


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
