"""A compiled constraint: which tokens may come next, wherever an utterance stands.

Where it stands is known exactly: the terminals behind it (``WordOrder``) and how much of the next
one is spelled (``Lexemes``). There are not many such states, visits repeat themselves, and what
follows from each is worked out once.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from dictation.recognition.lexemes import ROOT, Lexemes
from dictation.recognition.spellings import Spellings
from dictation.recognition.tokens import END, TokenTable
from dictation.recognition.word_order import END_OF_ALL, WordOrder
from grammar.rules import Rules, read_rules

Tokens = NDArray[np.int32]
Constraint = Rules | str
"""Rules whose first is called ``start``, or a grammar text of such."""

MOST_STATES = 6_000
"""So many states are kept from one utterance to the next. 178 tuning utterances led to 3,000, and
to 80 MB; to work out one anew takes 0.1 ms."""

#: A place between terminals, and one in the spelling of the next.
_Standing = tuple[int, int]


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
