"""Beam search over the model's tokens, allowing only what the grammar allows.

Every step runs one batch: the beam's rows and, as one more row, the free (unguided) greedy hearing
of the same sound. The grammar masks the rows of the beam only.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field

import numpy as np

from dictation.audio.samples import SAMPLE_RATE_HZ
from dictation.recognition.language import Language, Tokens
from dictation.recognition.model import Encoded, Floats, SpeechModel, log_softmax
from dictation.recognition.tokens import END, TokenTable

#: Length of the silence that the prior is measured on, seconds.
SILENCE_S = 2.0
_SEPARATORS = re.compile(rb"[^a-z0-9]+")


@dataclass(frozen=True, slots=True)
class Decoded:
    """A finished row.

    ``log_score``: natural log probability of the tokens and the end, given the sound.
    ``rank``: what rows are ordered by.
    """

    tokens: tuple[int, ...]
    text: str
    log_score: float
    rank: float = 0.0


@dataclass(frozen=True, slots=True)
class Decoding:
    """What one search found: guided rows best first (reward counted), and the free hearing."""

    guided: tuple[Decoded, ...]
    free: Decoded


@dataclass(frozen=True, slots=True)
class SearchSettings:
    """How wide and how long to search.

    ``width``: rows of the beam. Narrower is faster, but misses the rivals that should be asked
    about: of 240 tuning phrases 12, 8, 5 and 3 rows let 0, 1, 2 and 3 wrong ones pass as sure.
    ``prior_share``: share of the prior taken off a row's log score: 0 lets the model's habits win
    over the sound, 1 forgets that they are language at all. A model that has read few vets needs
    it, the adapted one does not, and it doubles the work (300 tuning phrases, adapted model: 0.1
    95.5 % of values right in 118 s of processor time, 0.0 95.1 % in 56 s).
    ``habit_share``: how much the habits of speech weigh against the sound. The original model needs
    them; the adapted one has the habits of the grammar, and rare phrases are lost by others (1,000
    tuning phrases: 0, 0.05, 0.1, 0.15, 0.3 gave 96.9, 96.9, 96.6, 96.3, 92.4 % of values right).
    ``keep_nats``: rows this far behind the best finished one are dropped.
    ``apart_nats``: rows this far behind the best row of the same step are dropped; smaller is
    faster and loses late comers. ``tokens_a_second``: upper bound on what is written for a second
    of sound. ``alike``: rows that may differ in nothing but capitals and separators.
    """

    width: int = 12
    prior_share: float = 0.0
    habit_share: float = 0.0
    keep_nats: float = 6.0
    apart_nats: float = 9.0
    tokens_a_second: float = 10.0
    least_tokens: int = 12
    alike: int = 1


@dataclass(frozen=True, slots=True)
class _Row:
    tokens: tuple[int, ...]
    text: bytes
    log: float
    prior: float
    state: int


@dataclass(frozen=True, slots=True)
class _Step:
    """A possible next token of the row at ``place``; scores after it."""

    rank: float
    place: int
    token: int
    log: float
    prior: float


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

    def decoded(self, table: TokenTable) -> Decoded:
        """What was written."""
        return Decoded(tuple(self.tokens), table.text(self.tokens), self.log)


def longest_text(seconds: float, settings: SearchSettings) -> int:
    """Most tokens that are written for so much sound."""
    return int(settings.least_tokens + settings.tokens_a_second * seconds)


def heard_freely(model: SpeechModel, encoded: Encoded, longest: int) -> Decoded:
    """The likeliest tokens one after another, without a grammar."""
    free, stream = _Free(), _Stream(model, encoded, 1)
    for _ in range(longest):
        free.take(stream.logs[0])
        if free.done:
            break
        stream.step([0], [free.tokens[-1]])
    return free.decoded(model.table)


class BeamSearch:
    """A search over one model; holds nothing between utterances but what silence sounds like."""

    def __init__(self, model: SpeechModel, settings: SearchSettings) -> None:
        self._model = model
        self._settings = settings
        self._silence: Encoded | None = None
        if settings.prior_share:
            self._silence = model.encode(np.zeros(int(SILENCE_S * SAMPLE_RATE_HZ), np.float32))
        # The two decoders do not wait for each other: both leave the interpreter.
        self._aside = ThreadPoolExecutor(max_workers=1, thread_name_prefix="search")

    def decode(
        self, encoded: Encoded, language: Language, seconds: float, ending: Callable[[str], float]
    ) -> Decoding:
        """Search one utterance of ``seconds``.

        ``ending``: nats added to the rank of a row that ends with this text.
        """
        settings = self._settings
        language.begin()
        rows = [_Row((), b"", 0.0, 0.0, Language.START)]
        finished = _Finished(self._model.table, ending)
        free = _Free()
        heard = _Stream(self._model, encoded, 2)
        silent = None if self._silence is None else _Stream(self._model, self._silence, 1)
        for _ in range(longest_text(seconds, settings)):
            if not free.done:
                free.take(heard.logs[-1])
            found = [
                step
                for place, row in enumerate(rows)
                for step in self._steps(
                    row,
                    place,
                    language.allowed(row.state),
                    heard.logs[place],
                    None if silent is None else silent.logs[place],
                )
            ]
            finished.take(rows, found)
            parents, rows = self._chosen(rows, found, finished.best, language)
            if not rows and free.done:
                break
            tokens = [row.tokens[-1] for row in rows]
            prior = None
            if silent is not None and rows:
                prior = self._aside.submit(silent.step, parents[:], tokens[:])
            if not free.done:
                parents.append(len(heard.logs) - 1)
                tokens.append(free.tokens[-1])
            heard.step(parents, tokens)
            if prior is not None:
                prior.result()
        return Decoding(finished.ranked(), free.decoded(self._model.table))

    def _steps(
        self, row: _Row, place: int, allowed: Tokens, heard: Floats, silent: Floats | None
    ) -> list[_Step]:
        """The best next tokens of one row, among those that the grammar allows."""
        settings = self._settings
        logs = row.log + heard[allowed]
        priors = np.zeros_like(logs) if silent is None else row.prior + silent[allowed]
        ranks = logs - settings.prior_share * priors
        best = np.argsort(-ranks)[: settings.width + 1]
        end = np.flatnonzero(allowed == END)
        picked = np.union1d(best, end)
        return [
            _Step(float(ranks[k]), place, int(allowed[k]), float(logs[k]), float(priors[k]))
            for k in picked
        ]

    def _chosen(
        self, rows: list[_Row], found: list[_Step], done: float, language: Language
    ) -> tuple[list[int], list[_Row]]:
        """The rows of the next step: the best by rank, few of each normalised text."""
        settings = self._settings
        pieces = self._model.table.pieces
        growing = sorted((s for s in found if s.token != END), key=lambda s: -s.rank)
        lead = growing[0].rank if growing else -np.inf
        floor = max(done - settings.keep_nats, lead - settings.apart_nats)
        parents: list[int] = []
        grown: list[_Row] = []
        alike: Counter[bytes] = Counter()
        for step in growing:
            if step.rank < floor or len(grown) == settings.width:
                break
            parent = rows[step.place]
            text = parent.text + pieces[step.token]
            plain = _plain(text)
            # Two splittings of one text have one future: the better stands for both.
            if alike[text] or alike[plain] >= settings.alike:
                continue
            state = language.after(parent.state, step.token)
            if state is not None:
                alike.update({text, plain})
                parents.append(step.place)
                tokens = (*parent.tokens, step.token)
                grown.append(_Row(tokens, text, step.log, step.prior, state))
        return parents, grown


def _plain(text: bytes) -> bytes:
    """A text without capitals and separators, to tell which rows say the same so far."""
    return b"\0" + _SEPARATORS.sub(b" ", text.lower())


class _Finished:
    """Rows that have ended."""

    def __init__(self, table: TokenTable, ending: Callable[[str], float]) -> None:
        self._table = table
        self._ending = ending
        self._rows: dict[tuple[int, ...], Decoded] = {}
        self.best = -np.inf

    def take(self, rows: list[_Row], found: list[_Step]) -> None:
        """Keep the steps that end a row."""
        for step in found:
            if step.token != END:
                continue
            tokens = rows[step.place].tokens
            text = self._table.text(tokens)
            rank = step.rank + self._ending(text)
            self._rows[tokens] = Decoded(tokens, text, step.log, rank)
            self.best = max(self.best, rank)

    def ranked(self) -> tuple[Decoded, ...]:
        """All of them, the best first."""
        return tuple(sorted(self._rows.values(), key=lambda d: -d.rank))


class _Stream:
    """The decoder over one sound, its rows reordered at every step."""

    def __init__(self, model: SpeechModel, encoded: Encoded, rows: int) -> None:
        self._model = model
        self._encoded = encoded
        self._past = [np.repeat(p, rows, axis=0) for p in encoded.past]
        self.logs = np.repeat(log_softmax(encoded.first[np.newaxis]), rows, axis=0)

    def step(self, parents: list[int], tokens: list[int]) -> None:
        """Go on from rows ``parents``, each with its token."""
        past = [p[parents] for p in self._past]
        written = np.array(tokens, np.int64)
        logits, self._past = self._model.step(self._encoded, written, past)
        self.logs = log_softmax(logits)
