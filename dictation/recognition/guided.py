"""The guided engine: the speech model may write only what the grammar can read."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import cache, lru_cache
from pathlib import Path

import numpy as np

from dictation.audio.samples import SAMPLE_RATE_HZ, Samples
from dictation.recognition.beam import BeamSearch, Decoded, Decoding, SearchSettings
from dictation.recognition.confidence import (
    TALK_BELOW,
    Evidence,
    Ranked,
    Values,
    confidence_of,
    group_rank,
    pooled,
)
from dictation.recognition.habits import usual
from dictation.recognition.language import Constraint, Language
from dictation.recognition.level import DEAD_LEVEL, Level, levelled, measure
from dictation.recognition.model import ENGINE_ERRORS, Encoded, SpeechModel, load_model
from dictation.recognition.protocol import (
    LONGEST_S,
    NO_VOICE,
    Heard,
    Hypothesis,
    Outcome,
    not_ours,
    too_long,
)
from dictation.recognition.speech import (
    pace_nats,
    similarity,
    spoken_words,
    spread,
    unmatched_letters,
    voiced_stretches,
)
from grammar.normalise import normalise

#: Shortest voiced time that can hold a word, seconds; less is a click.
SHORTEST_VOICED_S = 0.06
#: Hypotheses kept for the margin and for the speaker to choose from.
KEPT_HYPOTHESES = 12
#: Hypotheses further behind the best than this are not read, nats; a larger margin adds nothing.
READ_NATS = 10.0
_OPENING = re.compile(
    r"(?:(?:okay|so|right|and) )?(?:(?:take|make) a )?((?:note|remark|comment) .+)"
)
#: Free minus guided log score, nats a word, from which words that open with 'note' are a note.
#: Smaller makes notes of "not sure"; larger loses short notes.
NOTE_GAP = 0.8

_Stretches = Sequence[tuple[float, float]]
_Ending = Callable[[str], float]
_FAILURES: tuple[type[Exception], ...] = (*ENGINE_ERRORS, ArithmeticError, LookupError, ValueError)
"""What a sound or a model may bring about; the utterance must not be lost by it."""


class GuidedRecogniser:
    """The built-in engine. Make one with ``load``."""

    def __init__(
        self,
        model: SpeechModel,
        constraint: Constraint,
        values: Values,
        settings: SearchSettings | None = None,
    ) -> None:
        self.model = model
        self._values: Values = lru_cache(maxsize=4_096)(values)
        self._settings = settings or SearchSettings()
        self._search = BeamSearch(model, self._settings)
        self._language = Language(model.table, constraint)

    @classmethod
    def load(
        cls,
        constraint: Constraint,
        values: Values,
        model_dir: Path | None = None,
        threads: int = 2,
        settings: SearchSettings | None = None,
    ) -> GuidedRecogniser:
        """Load the model and compile the constraint.

        ``constraint``: as ``grammar.constraint`` makes it, or a grammar text. Raises MissingError
        for a missing or damaged model, ValueError for a constraint that does not compile.
        """
        return cls(load_model(model_dir, threads), constraint, values, settings)

    def listening_for(self, constraint: Constraint, values: Values) -> GuidedRecogniser:
        """The same model under another constraint (answers to a query); loads nothing anew."""
        return GuidedRecogniser(self.model, constraint, values, self._settings)

    @property
    def name(self) -> str:
        """Name as given to --engine."""
        return "guided"

    def recognise(self, samples: Samples) -> Heard:
        """Hear one utterance; every end is a named outcome, and nothing is raised for bad sound."""
        seconds = len(samples) / SAMPLE_RATE_HZ
        if seconds > LONGEST_S:
            return too_long(samples)
        level = measure(samples)
        if level.loud < DEAD_LEVEL or level.voiced_s < SHORTEST_VOICED_S:
            return NO_VOICE
        try:
            encoded = self.model.encode(levelled(samples, level))
            ending = self._ending(level.voiced_s)
            decoding = self._search.decode(encoded, self._language, seconds, ending)
            return self._judged(decoding, level, voiced_stretches(level, seconds), ending)
        except _FAILURES as error:
            return Heard(Outcome.FAILED, reasons=(f"the recogniser failed: {error}",))

    def score(self, samples: Samples, texts: Sequence[str]) -> tuple[float, ...]:
        """Natural log probability of each text, given the sound, in its best splitting."""
        encoded = self.model.encode(levelled(samples, measure(samples)))
        return tuple(self._forced(encoded, text) for text in texts)

    def _forced(self, encoded: Encoded, text: str) -> float:
        literal = text.strip().replace("\\", "\\\\").replace('"', '\\"')
        language = Language(self.model.table, f'start: "{literal}"')
        decoding = self._search.decode(encoded, language, len(text), lambda _: 0.0)
        return max((d.log_score for d in decoding.guided), default=-np.inf)

    def _ending(self, voiced_s: float) -> _Ending:
        """What a finished text gains or loses by its length, and by how usual it is, nats."""
        share = self._settings.habit_share

        @cache
        def nats(text: str) -> float:
            habits = share * usual().nats(normalise(text)) if share else 0.0
            return pace_nats(text, voiced_s) + habits

        return nats

    def _judged(
        self, decoding: Decoding, level: Level, stretches: _Stretches, ending: _Ending
    ) -> Heard:
        free = decoding.free
        heard = not_ours(free.text, free.log_score, len(free.tokens))
        merged = _merged(decoding.guided, stretches)
        if self._values(normalise(free.text)) is not None and self._language.holds(free.tokens):
            merged = _with_free(merged, free, stretches, ending)
        groups = pooled(_likely(merged), self._values)
        evidence = _evidence(groups, free, level, self._values) if groups else None
        if (evidence is None or evidence.gap > NOTE_GAP) and (note := note_in(free.text)):
            only = _hypothesis(free, note, stretches, free.log_score)
            confidence = note_confidence(free.log_score, len(free.tokens))
            return _as_heard(heard, [only], confidence, ())
        if evidence is None:
            return heard
        best = groups[0][0][1]
        confidence, reasons = confidence_of(evidence)
        if evidence.not_ours or (confidence < TALK_BELOW and evidence.like_talk):
            return heard
        others = sorted((h for group in groups for h in group), key=lambda h: -h[0])
        ranked = [best, *(h for _, h in others if h is not best)]
        return _as_heard(heard, ranked[:KEPT_HYPOTHESES], confidence, reasons)


def _as_heard(
    free: Heard, ranked: Sequence[Hypothesis], confidence: float, reasons: tuple[str, ...]
) -> Heard:
    found = tuple(ranked)
    return replace(
        free, outcome=Outcome.HEARD, hypotheses=found, confidence=confidence, reasons=reasons
    )


def note_in(free_text: str) -> str | None:
    """The note in a free hearing, normalised; None where it does not open with the word.

    A note is any words, so it is heard freely: the guided words cannot hold it.
    """
    found = _OPENING.fullmatch(normalise(free_text))
    return None if found is None else found.group(1)


def note_confidence(log_score: float, tokens: int) -> float:
    """Mean probability of a token of the free hearing: what a note's words are worth."""
    return round(min(1.0, math.exp(log_score / max(1, tokens))), 3)


def _hypothesis(
    decoded: Decoded, normal: str, stretches: _Stretches, log_score: float
) -> Hypothesis:
    words = spread(normal, stretches)
    return Hypothesis(decoded.text, normal, words, log_score, len(decoded.tokens))


def _merged(guided: Sequence[Decoded], stretches: _Stretches) -> list[Ranked]:
    """One hypothesis for each normalised text: the surfaces' probabilities add."""
    surfaces: dict[str, list[Decoded]] = {}
    for decoded in guided:
        if normal := normalise(decoded.text):
            surfaces.setdefault(normal, []).append(decoded)
    merged: list[Ranked] = []
    for normal, same in surfaces.items():
        best = max(same, key=lambda d: d.log_score)
        total = float(np.logaddexp.reduce([d.log_score for d in same]))
        rank = float(np.logaddexp.reduce([d.rank for d in same]))
        merged.append((rank, _hypothesis(best, normal, stretches, total)))
    return merged


def _with_free(
    ranked: list[Ranked], free: Decoded, stretches: _Stretches, ending: _Ending
) -> list[Ranked]:
    """The free hearing among the guided ones: where it can be read, the search may have lost it.

    Its rank is that of the best guided hypothesis and the difference of their scores.
    """
    normal = normalise(free.text)
    if not normal or not ranked or any(h.normal == normal for _, h in ranked):
        return ranked
    rank, best = max(ranked, key=lambda r: r[0])
    rank += free.log_score - best.log_score + ending(free.text) - ending(best.text)
    return [*ranked, (rank, _hypothesis(free, normal, stretches, free.log_score))]


def _likely(ranked: list[Ranked]) -> list[Ranked]:
    """The hypotheses worth reading: reading costs milliseconds each."""
    best = sorted(ranked, key=lambda r: -r[0])[:KEPT_HYPOTHESES]
    return [r for r in best if r[0] > best[0][0] - READ_NATS]


def _evidence(
    groups: Sequence[Sequence[Ranked]], free: Decoded, level: Level, values: Values
) -> Evidence:
    best = groups[0][0][1]
    rival = groups[1] if len(groups) > 1 else None
    heard_freely = normalise(free.text)
    said = values(best.normal)
    words = min(spoken_words(best.normal), spoken_words(heard_freely) + 1)
    return Evidence(
        normal=best.normal,
        gap=(free.log_score - best.log_score) / max(1, words),
        margin=group_rank(groups[0]) - group_rank(rival) if rival else np.inf,
        rival=rival[0][1].normal if rival else None,
        pace_nats=pace_nats(best.normal, level.voiced_s),
        unmatched=unmatched_letters(best.normal, heard_freely),
        similarity=similarity(best.normal, heard_freely),
        readable=said is not None,
        loud_over_floor=level.loud / max(level.floor, DEAD_LEVEL / 100),
        freely_the_same=said is not None and values(heard_freely) == said,
        extra_words=max(0, len(heard_freely.split()) - len(best.normal.split())),
    )
