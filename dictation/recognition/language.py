"""A compiled constraint: which tokens may follow a text.

Working out the tokens allowed at the start of a word costs about a millisecond, as the whole
vocabulary of the exam is possible there; so answers are kept. Visits repeat themselves.
"""

from __future__ import annotations

import re
from collections import OrderedDict
from collections.abc import Sequence

import numpy as np
from llguidance import LLMatcher, LLTokenizer
from numpy.typing import NDArray

#: Texts whose answers are kept; about 1 kB each.
_KEPT_TEXTS = 6_000

Tokens = NDArray[np.int32]


class Language:
    """A constraint compiled for a tokenizer. Raises ValueError if it does not compile."""

    def __init__(self, tokenizer: LLTokenizer, constraint: str) -> None:
        # The model begins its text with a blank, which no constraint mentions.
        inner = re.sub(r"\bstart\b", "utterance", constraint)
        grammar = LLMatcher.grammar_from_lark(f'start: " " utterance\n{inner}\n')
        self._start = LLMatcher(tokenizer, grammar)
        if self._start.is_error():
            raise ValueError(f"the constraint does not compile: {self._start.get_error()}")
        self._vocabulary = int(tokenizer.vocab_size)
        self._kept: OrderedDict[bytes, Tokens] = OrderedDict()

    def start(self) -> LLMatcher:
        """A matcher at the beginning."""
        return self._start.deep_copy()

    def holds(self, tokens: Sequence[int]) -> bool:
        """Whether a text, without its end, is whole in this language."""
        matcher = self.start()
        return all(matcher.consume_token(token) for token in tokens) and matcher.is_accepting()

    def allowed(self, text: bytes, matcher: LLMatcher) -> Tokens:
        """Numbers of the tokens that may follow ``text``, which ``matcher`` has consumed."""
        kept = self._kept.get(text)
        if kept is not None:
            self._kept.move_to_end(text)
            return kept
        mask = np.frombuffer(matcher.compute_bitmask(), np.uint8)
        bits = np.unpackbits(mask, bitorder="little")[: self._vocabulary]
        allowed = np.flatnonzero(bits).astype(np.int32)
        self._kept[text] = allowed
        if len(self._kept) > _KEPT_TEXTS:
            self._kept.popitem(last=False)
        return allowed
