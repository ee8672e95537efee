"""Beam search over the model's tokens, allowing only what the grammar allows.

Every step runs one batch: the beam's rows and, as one more row, the free (unguided) greedy hearing
of the same sound. The grammar masks the rows of the beam only.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np
from llguidance import LLMatcher
from numpy.typing import NDArray

from dictation.recognition.model import Encoded, Floats, SpeechModel
from dictation.recognition.tokens import END


@dataclass(frozen=True, slots=True)
class Decoded:
    """A finished row. ``log_score``: natural log probability with the end token, no reward."""

    tokens: tuple[int, ...]
    text: str
    log_score: float


@dataclass(frozen=True, slots=True)
class Decoding:
    """What one search found: guided rows best first (reward counted), and the free hearing."""

    guided: tuple[Decoded, ...]
    free: Decoded


@dataclass(frozen=True, slots=True)
class SearchSettings:
    """How wide and how long to search.

    ``width``: rows of the beam. ``word_reward_nats``: added for each word written. ``keep_nats``:
    rows that fall this far behind the best finished one are dropped; smaller is faster and loses
    late comers. ``tokens_a_second``: upper bound on what can be written for a second of sound.
    """

    width: int = 16
    word_reward_nats: float = 1.0
    keep_nats: float = 12.0
    tokens_a_second: float = 10.0
    least_tokens: int = 12


@dataclass(slots=True)
class _Row:
    tokens: tuple[int, ...]
    text: bytes
    log: float
    words: int
    matcher: LLMatcher


@dataclass(slots=True)
class _Free:
    tokens: list[int] = field(default_factory=list)
    log: float = 0.0
    done: bool = False

    def take(self, log_probabilities: Floats) -> None:
        """Write the likeliest token, or end."""
        token = int(log_probabilities.argmax())
        self.log += float(log_probabilities[token])
        if token == END:
            self.done = True
        else:
            self.tokens.append(token)


def log_softmax(logits: Floats) -> Floats:
    """Natural log probabilities along the last axis."""
    top = logits.max(axis=-1, keepdims=True)
    shifted = logits - top
    logs: Floats = shifted - np.log(np.exp(shifted).sum(axis=-1, keepdims=True))
    return logs


def allowed_tokens(matcher: LLMatcher, vocabulary: int) -> NDArray[np.int64]:
    """Numbers of the tokens the grammar allows next."""
    mask = np.frombuffer(matcher.compute_bitmask(), np.uint8)
    bits = np.unpackbits(mask, bitorder="little")[:vocabulary]
    return np.flatnonzero(bits)


class BeamSearch:
    """A search over one model; holds nothing between utterances."""

    def __init__(self, model: SpeechModel, settings: SearchSettings) -> None:
        self._model = model
        self._settings = settings

    def decode(self, encoded: Encoded, matcher: LLMatcher, seconds: float) -> Decoding:
        """Search one utterance of ``seconds``; ``matcher`` stands at the grammar's start."""
        settings = self._settings
        longest = int(settings.least_tokens + settings.tokens_a_second * seconds)
        rows = [_Row((), b"", 0.0, 0, matcher)]
        finished: dict[tuple[int, ...], tuple[float, Decoded]] = {}
        free = _Free()
        past = [np.repeat(p, 2, axis=0) for p in encoded.past]
        logits = np.repeat(encoded.first[np.newaxis], 2, axis=0)
        for _ in range(longest):
            scores = log_softmax(logits)
            if not free.done:
                free.take(scores[-1])
            parents, rows = self._grow(rows, scores, finished)
            if not rows and free.done:
                break
            tokens = [row.tokens[-1] for row in rows]
            if not free.done:
                parents.append(len(logits) - 1)
                tokens.append(free.tokens[-1])
            past = [p[parents] for p in past]
            logits, past = self._model.step(encoded, np.array(tokens, np.int64), past)
        text = self._model.table.text
        ranked = sorted(finished.values(), key=lambda f: -f[0])
        guided = tuple(decoded for _, decoded in ranked)
        return Decoding(guided, Decoded(tuple(free.tokens), text(free.tokens), free.log))

    def _grow(
        self,
        rows: list[_Row],
        scores: Floats,
        finished: dict[tuple[int, ...], tuple[float, Decoded]],
    ) -> tuple[list[int], list[_Row]]:
        """Finish rows that may end, and grow the rest: parents' places, and the new rows."""
        settings = self._settings
        pieces = self._model.table.pieces
        found: list[tuple[float, int, int, float, int]] = []
        for place, row in enumerate(rows):
            allowed = allowed_tokens(row.matcher, scores.shape[1])
            logs = row.log + scores[place, allowed]
            best = np.argsort(-logs)[: settings.width + 1]
            for token, log in zip(allowed[best].tolist(), logs[best].tolist(), strict=True):
                if token == END:
                    reward = settings.word_reward_nats * row.words
                    done = Decoded(row.tokens, self._model.table.text(row.tokens), log)
                    finished[row.tokens] = (log + reward, done)
                    continue
                words = row.words + _starts_word(row.text, pieces[token])
                reach = log + settings.word_reward_nats * words
                found.append((reach, place, token, log, words))
        floor = max((f[0] for f in finished.values()), default=-np.inf) - settings.keep_nats
        found = sorted((f for f in found if f[0] > floor), reverse=True)
        parents: list[int] = []
        grown: list[_Row] = []
        seen: set[bytes] = set()
        for _, place, token, log, words in found:
            text = rows[place].text + pieces[token]
            # Two splittings of one text have one future: the better stands for both.
            if text in seen:
                continue
            seen.add(text)
            matcher = rows[place].matcher.deep_copy()
            if not matcher.consume_token(token):
                continue
            parents.append(place)
            grown.append(_Row((*rows[place].tokens, token), text, log, words, matcher))
            if len(grown) == settings.width:
                break
        return parents, grown


def _starts_word(text: bytes, piece: bytes) -> int:
    """How many words the piece begins."""
    before = text[-1:] or b" "
    joined = (before + piece).decode("utf-8", errors="replace")
    return sum(1 for a, b in pairwise(joined) if b.isalnum() and not a.isalnum() and a not in "'.")
