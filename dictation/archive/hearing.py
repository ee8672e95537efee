"""One visit heard again: each kept utterance, beside what the journal holds of it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from pathlib import Path

from dictation.audio.keep import AUDIO_FOLDER, load_utterance
from dictation.errors import BadInputError
from dictation.recognition.protocol import Outcome, Recogniser
from dictation.visit.inputs import PhraseHeard
from dictation.visit.journal import Journal
from grammar.parse import parse


@dataclass(frozen=True, slots=True)
class HeardAgain:
    """An utterance then and now. ``same``: whether both carry the same values.

    ``was`` and ``now`` are normalised words, empty where nothing of ours was heard; ``why``: why it
    could not be heard again.
    """

    utterance: int
    audio: str
    was: str
    now: str
    same: bool
    confidence: float
    why: str | None = None


def hear_visit(folder: str, engine: str) -> tuple[HeardAgain, ...]:
    """Every utterance of a visit whose sound was kept, in order. Raises BadInputError."""
    path = Path(folder)
    with Journal.read(path) as journal:
        came_in = [given for _, given in journal.evidence(PhraseHeard)]
    heard = [given for given in came_in if isinstance(given, PhraseHeard) and given.audio]
    recogniser = _recogniser(engine) if heard else None
    return tuple(_again(path, given, recogniser) for given in heard if recogniser is not None)


def _again(folder: Path, given: PhraseHeard, recogniser: Recogniser) -> HeardAgain:
    audio = given.audio or ""
    was = given.hypotheses[0].normal if given.hypotheses else ""
    try:
        heard = recogniser.recognise(load_utterance(folder / AUDIO_FOLDER / audio))
    except BadInputError as error:
        return HeardAgain(given.phrase, audio, was, "", False, 0.0, str(error))
    now = heard.hypotheses[0].normal if heard.outcome is Outcome.HEARD and heard.hypotheses else ""
    reading = parse(now) if now else None
    said = () if reading is None or reading.unread is not None else reading.said
    before = given.said if given.outcome is Outcome.HEARD else ()
    same = [each.what for each in said] == [each.what for each in before]
    return HeardAgain(given.phrase, audio, was, now, same, heard.confidence)


@cache
def _recogniser(name: str) -> Recogniser:
    """One a process: loading takes longer than hearing a cow."""
    from dictation.recognition.engines import load_engine

    return load_engine(name)
