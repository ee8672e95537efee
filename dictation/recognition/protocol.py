"""What a recogniser is, whichever engine does the work."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Protocol, runtime_checkable

from dictation.audio.samples import SAMPLE_RATE_HZ, Samples

LONGEST_S = 30.0
"""Longest utterance heard in one piece, seconds. The model was trained on up to 30 s; beyond it
words go missing."""


KEPT_HYPOTHESES = 12
"""Most hypotheses of an utterance that are kept, for the margin and for the speaker to choose."""


class Outcome(StrEnum):
    """What became of an utterance; never an empty string standing for all of them."""

    HEARD = "heard"
    SILENCE = "silence"
    NOT_OUR_LANGUAGE = "not_our_language"
    TOO_LONG = "too_long"
    FAILED = "failed"


@dataclass(frozen=True, slots=True)
class HeardWord:
    """A word and where it lies, in seconds from the start of the utterance.

    ``confidence``: the engine's own for the word, 0 to 1, where it has one; it decides nothing.
    """

    word: str
    at_s: float
    until_s: float
    confidence: float | None = None


@dataclass(frozen=True, slots=True)
class Hypothesis:
    """One way to hear the utterance.

    ``text``: as the engine wrote it. ``normal``: normalised for the grammar. ``log_score``: natural
    log probability of the words given the sound, summed over the written surfaces that normalise to
    the same text. ``tokens``: how many tokens the best surface took. ``rank``: what hypotheses are
    ordered by, nats; None where the engine has nothing but the score.
    """

    text: str
    normal: str
    words: tuple[HeardWord, ...]
    log_score: float
    tokens: int
    rank: float | None = None

    def behind(self, best: Hypothesis) -> float:
        """By how much it lies behind the best, nats."""
        if self.rank is None or best.rank is None:
            return best.log_score - self.log_score
        return best.rank - self.rank


@dataclass(frozen=True, slots=True)
class Odds:
    """What confidence is made of, so that who knows the visit can leave a rival out of it.

    ``meant``: chance that the words were meant for us. ``right``: log odds that they are right, if
    nothing else came near. ``unlike_nats``: nats a word by which the untaught model finds its own
    words better than these; None without one. ``near_nats``: a rival that lies no further behind is
    asked about whatever the chances.
    """

    meant: float
    right: float
    unlike_nats: float | None = None
    near_nats: float = 0.0


@dataclass(frozen=True, slots=True)
class Heard:
    """Result of one utterance: hypotheses best first, and the free (unguided) hearing beside it.

    ``confidence`` is 0 to 1: the chance that the best hypothesis carries the right values, from
    margins (``reasons`` says what lowered it). ``odds``: what it is made of, where the engine says.
    """

    outcome: Outcome
    hypotheses: tuple[Hypothesis, ...] = ()
    free_text: str = ""
    free_log_score: float = 0.0
    free_tokens: int = 0
    confidence: float = 0.0
    reasons: tuple[str, ...] = ()
    odds: Odds | None = None


NO_VOICE = Heard(Outcome.SILENCE, reasons=("no voice in the sound",))


def too_long(samples: Samples) -> Heard:
    """What became of an utterance of more than LONGEST_S."""
    seconds = len(samples) / SAMPLE_RATE_HZ
    told = f"{seconds:.0f} s in one breath; at most {LONGEST_S:.0f} s are heard"
    return Heard(Outcome.TOO_LONG, reasons=(told,))


def not_ours(free_text: str, free_log_score: float, free_tokens: int) -> Heard:
    """What became of an utterance of other words."""
    told = "the words are not of the exam's language"
    free = free_text, free_log_score, free_tokens
    return Heard(Outcome.NOT_OUR_LANGUAGE, (), *free, reasons=(told,))


class Recogniser(Protocol):
    """Utterance in, ranked hypotheses out."""

    @property
    def name(self) -> str:
        """Name as given to --engine."""
        ...

    def recognise(self, samples: Samples) -> Heard:
        """Hear one utterance of mono float32 samples at 16 kHz, -1 to 1."""
        ...


@runtime_checkable
class Streaming(Protocol):
    """A recogniser that gives words while an utterance is still being spoken."""

    def glimpse(self, samples: Samples) -> str:
        """The words so far, normalised, of an utterance that began with these samples."""
        ...
