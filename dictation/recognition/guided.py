"""The guided engine: the speech model may write only what the grammar can read."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cache, lru_cache
from pathlib import Path

import numpy as np

from dictation.audio.samples import SAMPLE_RATE_HZ, Samples
from dictation.recognition.beam import (
    BeamSearch,
    Decoded,
    Decoding,
    SearchSettings,
    longest_text,
)
from dictation.recognition.confidence import (
    WITNESS_SHARE,
    Evidence,
    Ranked,
    Values,
    confidence_in,
    group_rank,
    odds_of,
    pooled,
    reasons_of,
)
from dictation.recognition.habits import usual
from dictation.recognition.language import Constraint, Language
from dictation.recognition.level import DEAD_LEVEL, Level, levelled, measure
from dictation.recognition.model import ENGINE_ERRORS, Encoded, SpeechModel, load_model
from dictation.recognition.protocol import (
    KEPT_HYPOTHESES,
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
    voiced_stretches,
)
from dictation.recognition.witness import Testimony, Witness
from grammar.normalise import normalise

#: Shortest voiced time that can hold a word, seconds; less is a click.
SHORTEST_VOICED_S = 0.06
#: Hypotheses further behind the best than this are not read, nats; a larger margin adds nothing.
READ_NATS = 10.0
#: Hypotheses that the untaught model scores: six take it 36 ms, twelve twice that.
SCORED = 6
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
    """The built-in engine.

    ``witness``: without one the model testifies in its own cause, as an untaught one may.
    """

    def __init__(
        self,
        model: SpeechModel,
        constraint: Constraint,
        values: Values,
        settings: SearchSettings | None = None,
        witness: Witness | None = None,
    ) -> None:
        self.model = model
        self._witness = witness
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
        settings: SearchSettings | None = None,
    ) -> GuidedRecogniser:
        """Load the model and compile the constraint.

        ``constraint``: as ``grammar.constraint`` makes it, or a grammar text. Raises MissingError
        for a missing or damaged model, ValueError for a constraint that does not compile.
        """
        return cls(load_model(model_dir), constraint, values, settings)

    def listening_for(self, constraint: Constraint, values: Values) -> GuidedRecogniser:
        """The same model under another constraint (answers to a query); loads nothing anew."""
        return GuidedRecogniser(self.model, constraint, values, self._settings, self._witness)

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
            sound = levelled(samples, level)
            longest = longest_text(seconds, self._settings)
            testimony = self._witness.listen(sound, longest) if self._witness else None
            ending = self._ending(level.voiced_s)
            encoded = self.model.encode(sound)
            decoding = self._search.decode(encoded, self._language, seconds, ending)
            stretches = voiced_stretches(level, seconds)
            return self._judged(decoding, testimony, level, stretches, ending)
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
        self,
        decoding: Decoding,
        testimony: Testimony | None,
        level: Level,
        stretches: _Stretches,
        ending: _Ending,
    ) -> Heard:
        free = decoding.free
        untaught = testimony.free if testimony is not None else free
        heard = not_ours(untaught.text, untaught.log_score, len(untaught.tokens))
        found = _merged(decoding.guided, stretches)
        if self._values(normalise(free.text)) is not None and self._language.holds(free.tokens):
            found = _with_free(found, free, stretches, ending)
        scores = _scores(found := _likely(found), testimony)
        groups = pooled(
            [_with_score(c, s) for c, s in zip(found, scores, strict=True)], self._values
        )
        evidence = None
        if groups:
            among = {h.normal for _, h in groups[0]}
            score = max(
                (s for c, s in zip(found, scores, strict=True) if c.hypothesis.normal in among)
            )
            evidence = _evidence(groups, score, _Beside(free, untaught, level), self._values)
        if evidence is None or evidence.gap > NOTE_GAP:
            # The untaught model writes what a note says better, the other one that it is a note.
            for wrote in (untaught, free):
                if note := note_in(wrote.text):
                    only = _hypothesis(wrote, note, stretches, wrote.log_score)
                    confidence = note_confidence(wrote.log_score, len(wrote.tokens))
                    return replace(
                        heard,
                        outcome=Outcome.HEARD,
                        hypotheses=(only,),
                        confidence=confidence,
                        reasons=(),
                    )
        if evidence is None:
            return heard
        odds = odds_of(evidence)
        if evidence.refused(odds.meant):
            return heard
        ranked = sorted((r for group in groups for r in group), key=lambda r: -r[0])
        best = groups[0][0]
        ordered = [best, *(r for r in ranked if r is not best)]
        return replace(
            heard,
            outcome=Outcome.HEARD,
            hypotheses=tuple(replace(h, rank=round(rank, 3)) for rank, h in ordered),
            confidence=confidence_in(odds, evidence.margin),
            reasons=reasons_of(evidence),
            odds=odds,
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


@dataclass(frozen=True, slots=True)
class _Candidate:
    """A hypothesis on the way: its rank in the search, and the tokens of its best surface."""

    rank: float
    hypothesis: Hypothesis
    tokens: tuple[int, ...]


def _merged(guided: Sequence[Decoded], stretches: _Stretches) -> list[_Candidate]:
    """One hypothesis for each normalised text: the surfaces' probabilities add."""
    surfaces: dict[str, list[Decoded]] = {}
    for decoded in guided:
        if normal := normalise(decoded.text):
            surfaces.setdefault(normal, []).append(decoded)
    merged: list[_Candidate] = []
    for normal, same in surfaces.items():
        best = max(same, key=lambda d: d.log_score)
        total = float(np.logaddexp.reduce([d.log_score for d in same]))
        rank = float(np.logaddexp.reduce([d.rank for d in same]))
        hypothesis = _hypothesis(best, normal, stretches, total)
        merged.append(_Candidate(rank, hypothesis, best.tokens))
    return merged


def _with_free(
    found: list[_Candidate], free: Decoded, stretches: _Stretches, ending: _Ending
) -> list[_Candidate]:
    """The free hearing among the guided ones: where it can be read, the search may have lost it.

    Its rank is that of the best guided hypothesis and the difference of their scores.
    """
    normal = normalise(free.text)
    if not normal or not found or any(c.hypothesis.normal == normal for c in found):
        return found
    first = max(found, key=lambda c: c.rank)
    rank = first.rank + free.log_score - first.hypothesis.log_score
    rank += ending(free.text) - ending(first.hypothesis.text)
    freely = _hypothesis(free, normal, stretches, free.log_score)
    return [*found, _Candidate(rank, freely, free.tokens)]


def _likely(found: list[_Candidate]) -> list[_Candidate]:
    """The hypotheses worth reading, best first: reading costs milliseconds each."""
    best = sorted(found, key=lambda c: -c.rank)[:KEPT_HYPOTHESES]
    return [c for c in best if c.rank > best[0].rank - READ_NATS]


def _scores(found: Sequence[_Candidate], testimony: Testimony | None) -> list[float]:
    """What the untaught model makes of each; of the last ones, as of the worst scored."""
    if testimony is None or not found:
        return [c.hypothesis.log_score for c in found]
    scored = testimony.scores([c.tokens for c in found[:SCORED]])
    return [*scored, *[min(scored)] * (len(found) - len(scored))]


def _with_score(candidate: _Candidate, score: float) -> Ranked:
    return candidate.rank + WITNESS_SHARE * score, candidate.hypothesis


@dataclass(frozen=True, slots=True)
class _Beside:
    """What the guided words are held against: both models' free hearing, and the sound's level."""

    free: Decoded
    untaught: Decoded
    level: Level


def _evidence(
    groups: Sequence[Sequence[Ranked]], score: float, beside: _Beside, values: Values
) -> Evidence:
    """``score``: what the untaught model makes of the best."""
    free, untaught, level = beside.free, beside.untaught, beside.level
    best = groups[0][0][1]
    rival = groups[1] if len(groups) > 1 else None
    freely, otherwise = normalise(free.text), normalise(untaught.text)
    said = values(best.normal)
    same_untaught = said is not None and values(otherwise) == said
    unlike = (untaught.log_score - score) / _words(best.normal, otherwise)
    return Evidence(
        normal=best.normal,
        gap=(free.log_score - best.log_score) / _words(best.normal, freely),
        # The same words in its own spelling are its own words.
        unlike=min(unlike, 0.0) if same_untaught else unlike,
        margin=group_rank(groups[0]) - group_rank(rival) if rival else _beyond(groups[0]),
        rival=rival[0][1].normal if rival else None,
        pace_nats=pace_nats(best.normal, level.voiced_s),
        similarity=similarity(best.normal, freely),
        similarity_untaught=similarity(best.normal, otherwise),
        readable=said is not None,
        loud_over_floor=level.loud / max(level.floor, DEAD_LEVEL / 100),
        same=said is not None and values(freely) == said,
        same_untaught=same_untaught,
        extra_words=max(0, len(freely.split()) - len(best.normal.split())),
    )


def _beyond(group: Sequence[Ranked]) -> float:
    """How far off anything else is, where all that is kept says the same."""
    full = len(group) >= KEPT_HYPOTHESES
    return group[0][0] - group[-1][0] if full else np.inf


def _words(guided: str, free: str) -> int:
    """Words over which a gap is spread: of the text with fewer."""
    return max(1, min(spoken_words(guided), spoken_words(free) + 1))
