"""One hearing as the session takes it, beside what was said."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from pathlib import Path

from dictation.archive.own_recordings import Whats, values_said, verdicts
from dictation.archive.values import Difference, compare
from dictation.audio.endpoint import Utterance
from dictation.audio.samples import SAMPLE_RATE_HZ, Samples
from dictation.recognition.protocol import LONGEST_S, Heard, Hypothesis, Outcome
from dictation.visit.parts import Fate, Instead, Query

DAY = date(2026, 11, 18)
"""Day of the visits of the benches."""

_IN_MEMORY = Path("/dev/shm")  # a disk in memory, where the system has one

_LATER_S = 2 * LONGEST_S  # too late to be one phrase with what came before


@dataclass(frozen=True, slots=True)
class Judged:
    """One hearing as the session took it; ``stored``: see ``Verdict``.

    ``differences``: the values said beside those of the best hypothesis. ``offered``: a query was
    raised, and one of its answers carries just what was said.
    """

    fate: Fate
    stored: bool
    doubts: tuple[str, ...]
    differences: tuple[Difference, ...]
    offered: bool


class _Already:
    """A recogniser whose answers are known, one after another."""

    def __init__(self, name: str, *heard: Heard) -> None:
        self._name = name
        self._heard = iter(heard)

    @property
    def name(self) -> str:
        """Name of the engine that heard it."""
        return self._name

    def recognise(self, samples: Samples) -> Heard:
        """What was heard before."""
        return next(self._heard)


def judged(
    heard: Heard, engine: str, samples: Samples, said: str | None, after: str = ""
) -> Judged:
    """Hand a hearing of ``samples`` to a session.

    ``said``: the words; None: not for us. ``after``: words heard before it beyond doubt; a bare tag
    is asked about, however surely it was heard, unless 'next' was.
    """
    whole = Utterance(samples, 0.0, len(samples) / SAMPLE_RATE_HZ, 1)
    sounds, answers = [whole], [heard]
    if after:
        sounds = [whole, whole.later(_LATER_S)]
        answers = [_surely(after), heard]
    within = _IN_MEMORY if _IN_MEMORY.is_dir() else None
    *_, taken = verdicts(sounds, _Already(engine, *answers), DAY, within)
    meant = values_said(said, DAY) if said is not None else ()
    best = _best(heard)
    differences = compare(meant, best)
    if said and not meant:  # a side alone: its values come with the next breath
        differences = (Difference("words", said, _words(heard)), *differences)
    offered = _offered(taken.queries, meant, best)
    return Judged(taken.fate, taken.stored, taken.doubts, differences, offered)


def _surely(words: str) -> Heard:
    best = Hypothesis(words, words, (), 0.0, 1)
    return Heard(Outcome.HEARD, (best,), words, confidence=1.0)


def _words(heard: Heard) -> str:
    """Words of the best hypothesis."""
    is_heard = heard.outcome is Outcome.HEARD and heard.hypotheses
    return heard.hypotheses[0].normal if is_heard else ""


def _best(heard: Heard) -> Whats:
    """Values of the best hypothesis, as the session reads it."""
    if heard.outcome is not Outcome.HEARD or not heard.hypotheses:
        return ()
    return values_said(heard.hypotheses[0].normal, DAY)


def _offered(queries: tuple[Query, ...], meant: Whats, best: Whats) -> bool:
    answers = [
        tuple(each.what for each in a.effect.said) if isinstance(a.effect, Instead) else best
        for query in queries
        for a in query.alternatives
    ]
    return any(all(d.right for d in compare(meant, answer)) for answer in answers)
