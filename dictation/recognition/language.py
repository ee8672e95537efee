"""A compiled constraint: which tokens may come next, wherever an utterance stands.

Where it stands is known exactly: the terminals behind it (``WordOrder``) and how much of the next
one is spelled (``Lexemes``). There are not many such states, visits repeat themselves, and what
follows from each is worked out once.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from functools import reduce
from operator import or_

import numpy as np
from numpy.typing import NDArray

from dictation.recognition.spellings import ROOT, Lexemes, Spellings
from dictation.recognition.tokens import END, TokenTable
from grammar.automaton import NOWHERE, Automaton
from grammar.rules import Name, Rules, Symbol, read_rules

Tokens = NDArray[np.int32]
Constraint = Rules | str
"""Rules whose first is called ``start``, or a grammar text of such."""

MOST_STATES = 6_000
"""So many states are kept from one utterance to the next. 178 tuning utterances led to 3,000, and
to 80 MB; to work out one anew takes 0.1 ms."""

END_OF_ALL = 0
"""The terminal that stands for the end of an utterance."""
_END, _BLANK = Symbol("the end"), Symbol("the blank with which the model begins its text")
#: A place between terminals, and one in the spelling of the next.
_Standing = tuple[int, int]


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


class Language:
    """A constraint over a token table. Raises ValueError if it does not compile.

    A state is a number; ``START`` is the first.
    """

    START = 0

    def __init__(self, table: TokenTable, constraint: Constraint) -> None:
        try:
            rules = read_rules(constraint) if isinstance(constraint, str) else constraint
            self._order = WordOrder(rules)
            lexemes = Lexemes(self._order.terminals[1:])
        except (KeyError, ValueError) as error:
            raise ValueError(f"the constraint does not compile: {error}") from error
        # The end of all has no spelling, so the lexemes count from one less.
        self._spellings = Spellings(table, lexemes, len(self._order.terminals) - 1)
        self._forget()

    def begin(self) -> None:
        """Before each utterance: what was worked out for earlier ones is dropped where it is much.

        States of before are then no longer those of now.
        """
        if len(self._states) > MOST_STATES:
            self._forget()

    def _forget(self) -> None:
        self._order.forget()
        self._numbers: dict[tuple[_Standing, ...], int] = {}
        self._states: list[tuple[_Standing, ...]] = []
        self._allowed: dict[int, Tokens] = {}
        self._masks: dict[tuple[int, int, bytes], Tokens] = {}
        self._first_bytes: dict[int, int] = {}
        self._after: dict[tuple[int, int], int | None] = {}
        self._number({(self._order.start, ROOT)})

    def allowed(self, state: int) -> Tokens:
        """Numbers of the tokens that may come next, ``END`` among them where it may end."""
        known = self._allowed.get(state)
        if known is None:
            parts = [self._mask(*standing, b"") for standing in self._states[state]]
            if self.accepts(state):
                parts.append(np.array([END], np.int32))
            known = self._allowed[state] = np.unique(np.concatenate(parts))
        return known

    def accepts(self, state: int) -> bool:
        """Whether the utterance may end here."""
        return any(
            spelled == ROOT and self._order.allowed(place) >> END_OF_ALL & 1
            for place, spelled in self._states[state]
        )

    def after(self, state: int, token: int) -> int | None:
        """The state behind a token; None where it may not come."""
        key = (state, token)
        if key not in self._after:
            self._after[key] = self._walk(state, self._spellings.pieces[token])
        return self._after[key]

    def holds(self, tokens: Sequence[int]) -> bool:
        """Whether a text, without its end, is whole in this language."""
        state: int | None = self.START
        for token in tokens:
            state = self.after(state, token) if state is not None else None
        return state is not None and self.accepts(state)

    def _walk(self, state: int, piece: bytes) -> int | None:
        standings = set(self._states[state])
        for byte in piece:
            standings = {s for standing in standings for s in self._step(standing, byte)}
        return self._number(standings) if standings else None

    def _step(self, standing: _Standing, byte: int) -> list[_Standing]:
        place, spelled = standing
        target = self._spellings.lexemes.after[spelled].get(byte)
        if target is None:
            return []
        wanted = self._order.allowed(place) >> 1
        reached: list[_Standing] = []
        if self._spellings.lexemes.ahead[target] & wanted:
            reached.append((place, target))
        if whole := self._spellings.lexemes.whole[target] & wanted:
            reached.append((self._order.after(place, whole << 1), ROOT))
        return reached

    def _number(self, standings: set[_Standing]) -> int:
        ordered = tuple(sorted(standings))
        known = self._numbers.get(ordered)
        if known is None:
            known = self._numbers[ordered] = len(self._states)
            self._states.append(ordered)
        return known

    def _mask(self, place: int, spelled: int, before: bytes) -> Tokens:
        """Tokens that begin with ``before`` and go on from here, in no order."""
        key = (place, spelled, before)
        known = self._masks.get(key)
        if known is None:
            wanted = self._order.allowed(place) >> 1
            spelling = self._spellings.of(spelled, before)
            parts = [spelling.within(self._spellings.bits(wanted))]
            for crossing in spelling.crossings:
                if whole := crossing.terminals & wanted:
                    behind = self._order.after(place, whole << 1)
                    if crossing.follow & self._begin(behind):
                        parts.append(self._mask(behind, ROOT, crossing.spelled))
            known = self._masks[key] = np.concatenate(parts)
        return known

    def _begin(self, place: int) -> int:
        """The bytes with which a terminal allowed here may begin, as bits of an integer."""
        known = self._first_bytes.get(place)
        if known is None:
            wanted, known = self._order.allowed(place) >> 1, 0
            lexemes = self._spellings.lexemes
            for byte, target in lexemes.after[ROOT].items():
                if (lexemes.whole[target] | lexemes.ahead[target]) & wanted:
                    known |= 1 << byte
            self._first_bytes[place] = known
        return known
