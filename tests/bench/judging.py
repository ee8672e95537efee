"""What the session makes of a hearing: the real one, with a journal on disk, by its own rules.

Whether a value is stored or asked about is not decided here: each hearing is handed to a
``Session`` in a visit of its own, in which a cow is in hand and something was found on her.
"""

from __future__ import annotations

import tempfile
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from dictation.audio.endpoint import Utterance
from dictation.audio.samples import SAMPLE_RATE_HZ, Samples
from dictation.recognition.protocol import Heard, Outcome
from dictation.session.effects import Instead
from dictation.session.journal import Journal
from dictation.session.session import Session
from dictation.session.visit import Fate, Query, Visit
from grammar.findings import Command, Finding
from grammar.parse import parse
from tests.bench.values import Difference, compare

DAY = date(2026, 11, 18)
"""Day of the visits of the benches."""

BEFORE = "cow five oh five oh left ovary cl eighteen"
"""What was said before, so that every command has something to work on."""

_IN_MEMORY = Path("/dev/shm")  # a disk in memory, where the system has one


@dataclass(frozen=True, slots=True)
class Judged:
    """One hearing as the session took it.

    ``stored``: it was taken without asking, and did something: 'yes' where nothing was asked
    changes nothing. ``differences``: the values said beside those of the best hypothesis.
    ``offered``: a query was raised, and one of its answers carries just what was said.
    """

    fate: Fate
    stored: bool
    doubts: tuple[str, ...]
    differences: tuple[Difference, ...]
    offered: bool


class _Already:
    """A recogniser whose answer is known."""

    def __init__(self, name: str, heard: Heard) -> None:
        self._name = name
        self._heard = heard

    @property
    def name(self) -> str:
        """Name of the engine that heard it."""
        return self._name

    def recognise(self, samples: Samples) -> Heard:
        """What was heard before."""
        return self._heard


def judged(heard: Heard, engine: str, samples: Samples, said: str | None) -> Judged:
    """Hand a hearing of ``samples`` to a session. ``said``: the words; None: not for us."""
    folder = _IN_MEMORY if _IN_MEMORY.is_dir() else None
    with (
        tempfile.TemporaryDirectory(dir=folder) as visit_folder,
        Journal.write(Path(visit_folder)) as journal,
    ):
        session = Session(journal, parse, _Already(engine, heard))
        session.begin(DAY, DAY)
        session.type(BEFORE)
        before = session.visit
        session.hear(Utterance(samples, 0.0, len(samples) / SAMPLE_RATE_HZ, 1))
        utterance = session.visit.utterances[-1]
        after = session.visit
    queries = tuple(q for q in after.queries if q.utterance == utterance.number)
    stored = utterance.fate in {Fate.RECORDED, Fate.NOTED} or (
        utterance.fate is Fate.COMMAND and _state(before) != _state(after)
    )
    meant = _meant(said) if said is not None else ()
    best = _best(heard)
    differences = compare(meant, best)
    offered = _offered(queries, meant, best)
    return Judged(utterance.fate, stored, utterance.doubts, differences, offered)


def _state(visit: Visit) -> tuple[object, ...]:
    """What a command can change."""
    return visit.exams, visit.in_hand, visit.paused, visit.note_awaited, visit.closed


def _meant(said: str) -> tuple[Finding | Command, ...]:
    return tuple(each.what for each in parse(said, DAY).said)


def _best(heard: Heard) -> tuple[Finding | Command, ...]:
    """Values of the best hypothesis, as the session reads it."""
    if heard.outcome is not Outcome.HEARD or not heard.hypotheses:
        return ()
    return _meant(heard.hypotheses[0].normal)


def _offered(
    queries: tuple[Query, ...],
    meant: tuple[Finding | Command, ...],
    best: tuple[Finding | Command, ...],
) -> bool:
    answers = [
        tuple(each.what for each in a.effect.said) if isinstance(a.effect, Instead) else best
        for query in queries
        for a in query.alternatives
    ]
    return any(all(d.right for d in compare(meant, answer)) for answer in answers)
