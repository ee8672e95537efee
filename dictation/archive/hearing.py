"""One visit heard again: each kept utterance, beside what the journal holds of it.

Results lie one file a visit, so that a run that was stopped goes on where it was.
"""

from __future__ import annotations

import hashlib
import json
from dataclasses import asdict, dataclass
from functools import cache
from pathlib import Path

from dictation.audio.keep import AUDIO_FOLDER, load_utterance
from dictation.disk import replace_file
from dictation.errors import BadInputError, cannot_write
from dictation.recognition.protocol import Outcome, Recogniser
from dictation.visit.inputs import PhraseHeard
from dictation.visit.journal import Journal
from dictation.visit.journal_state import journal_state
from grammar.language import grammar_version
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


class Results:
    """A folder of results. A visit is done where its file is there and its journal did not grow."""

    def __init__(self, folder: Path, engine: str) -> None:
        self.folder = folder
        self._engine = engine
        try:
            folder.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise cannot_write(folder, error.strerror) from error

    def path_of(self, visit: Path) -> Path:
        """The file of a visit: another one for another engine, grammar or state of its journal."""
        state = journal_state(visit)
        parts = (visit.resolve(), state.opened_at, state.last_seq, self._engine, grammar_version())
        digest = hashlib.sha256("|".join(map(str, parts)).encode()).hexdigest()
        return self.folder / f"{digest[:32]}.json"

    def left(self, visits: tuple[Path, ...]) -> tuple[Path, ...]:
        """The visits that are not done. Raises BadInputError for a folder that is none."""
        return tuple(visit for visit in visits if not self.path_of(visit).is_file())

    def put(self, visit: Path, heard: tuple[HeardAgain, ...]) -> None:
        """Keep a visit's result, in one step. Raises MissingError."""
        record = {
            "visit": str(visit),
            "engine": self._engine,
            "grammar": grammar_version(),
            "utterances": [asdict(each) for each in heard],
        }
        text = json.dumps(record, ensure_ascii=False, indent=1) + "\n"
        replace_file(self.path_of(visit), text.encode("utf-8"))

    def of(self, visit: Path) -> tuple[HeardAgain, ...]:
        """What was heard of a visit that is done."""
        record = json.loads(self.path_of(visit).read_text(encoding="utf-8"))
        return tuple(HeardAgain(**each) for each in record["utterances"])
