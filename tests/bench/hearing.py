"""The engines of the recognition bench, and the record of one sound as each of them took it."""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Any

from dictation.archive.values import Difference
from dictation.audio.samples import SAMPLE_RATE_HZ, Samples
from dictation.errors import WrongUseError
from dictation.recognition.engines import engine
from dictation.recognition.protocol import Heard, Hypothesis, Outcome, Recogniser
from dictation.visit.parts import Fate
from grammar.constraint import constraint
from grammar.normalise import normalise
from grammar.parse import values_of
from tests.bench.judging import Judged, judged
from tests.bench.plan import BenchSound

GUIDED, UNGUIDED, POCKETSPHINX = "guided", "unguided", "pocketsphinx"
ENGINE_NAMES = (GUIDED, UNGUIDED, POCKETSPHINX)
"""``unguided`` is the free hearing that the guided engine brings along, read by the same parser."""


@dataclass(frozen=True, slots=True)
class Taken:
    """One sound as one engine heard it and the session took it; see ``Judged``.

    ``took_s``: seconds of recognition; None for the free hearing, which comes with the guided one.
    """

    outcome: Outcome
    heard: str
    free: str
    confidence: float
    reasons: tuple[str, ...]
    fate: Fate
    stored: bool
    doubts: tuple[str, ...]
    differences: tuple[Difference, ...]
    offered: bool
    took_s: float | None

    @property
    def asked(self) -> bool:
        """Whether the speaker is asked."""
        return self.fate is Fate.ASKED

    @property
    def all_right(self) -> bool:
        """Whether every value was heard as said, and nothing else was heard."""
        return all(d.right for d in self.differences)

    @property
    def silently_wrong(self) -> tuple[Difference, ...]:
        """Values stored without a query that were not said so."""
        return tuple(d for d in self.differences if d.wrong) if self.stored else ()

    @property
    def silently_lost(self) -> tuple[Difference, ...]:
        """Values said, of which nothing was stored and nothing asked."""
        return () if self.asked else tuple(d for d in self.differences if d.left_out)


@dataclass(frozen=True, slots=True)
class Row:
    """A sound and what became of it, by engine."""

    sound: BenchSound
    seconds: float
    taken: dict[str, Taken] = field(default_factory=dict)

    def record(self) -> dict[str, Any]:
        """As JSON keeps it; ``row_of`` reads it back."""
        return {
            "key": self.sound.key,
            "seconds": round(self.seconds, 3),
            "taken": {name: asdict(taken) for name, taken in self.taken.items()},
        }


def row_of(record: dict[str, Any], sound: BenchSound) -> Row:
    """A row as ``Row.record`` wrote it."""
    return Row(sound, record["seconds"], {n: _taken_of(t) for n, t in record["taken"].items()})


class Hearing:
    """Loaded engines. ``load`` them where they are to be used: they do not travel."""

    def __init__(self, names: Sequence[str], model_dir: Path | None = None) -> None:
        self._names = tuple(names)
        self._engines: dict[str, Recogniser] = {}
        if GUIDED in names or UNGUIDED in names:
            self._engines[GUIDED] = engine("guided", constraint(), values_of, model_dir=model_dir)
        if POCKETSPHINX in names:
            from tests.bench.phonetic import PhoneticRecogniser

            self._engines[POCKETSPHINX] = PhoneticRecogniser.load()

    def row(self, sound: BenchSound) -> Row:
        """Hear one sound with every engine."""
        samples = sound.samples()
        taken: dict[str, Taken] = {}
        for name, recogniser in self._engines.items():
            began = time.perf_counter()
            heard = recogniser.recognise(samples)
            took_s = time.perf_counter() - began
            if name in self._names:
                taken[name] = _taken(heard, name, samples, sound, round(took_s, 3))
            if name == GUIDED and UNGUIDED in self._names:
                taken[UNGUIDED] = _taken(_unguided(heard), UNGUIDED, samples, sound, None)
        return Row(sound, len(samples) / SAMPLE_RATE_HZ, taken)


def check_engines(names: Sequence[str]) -> None:
    """Raises WrongUseError for a name that is none of ours."""
    for name in names:
        if name not in ENGINE_NAMES:
            raise WrongUseError(
                f"there is no engine '{name}' to measure: --engine takes {', '.join(ENGINE_NAMES)}."
            )


def _unguided(heard: Heard) -> Heard:
    """The free words as if they had been the hearing; they come without a doubt of their own."""
    if heard.outcome not in {Outcome.HEARD, Outcome.NOT_OUR_LANGUAGE}:
        return heard
    normal = normalise(heard.free_text)
    if not normal:
        return Heard(Outcome.SILENCE)
    hypothesis = Hypothesis(
        heard.free_text, normal, (), heard.free_log_score, max(1, heard.free_tokens)
    )
    return Heard(Outcome.HEARD, (hypothesis,), heard.free_text, confidence=1.0)


def _taken(
    heard: Heard, name: str, samples: Samples, sound: BenchSound, took_s: float | None
) -> Taken:
    said = sound.words if sound.for_us else None
    taken: Judged = judged(heard, name, samples, said, sound.after)
    return Taken(
        outcome=heard.outcome,
        heard=heard.hypotheses[0].normal if heard.hypotheses else "",
        free=heard.free_text,
        confidence=heard.confidence,
        reasons=heard.reasons,
        fate=taken.fate,
        stored=taken.stored,
        doubts=taken.doubts,
        differences=taken.differences,
        offered=taken.offered,
        took_s=took_s,
    )


def _taken_of(record: dict[str, Any]) -> Taken:
    given = dict(record)
    given["outcome"] = Outcome(given["outcome"])
    given["fate"] = Fate(given["fate"])
    given["reasons"] = tuple(given["reasons"])
    given["doubts"] = tuple(given["doubts"])
    given["differences"] = tuple(Difference(**d) for d in given["differences"])
    return Taken(**given)
