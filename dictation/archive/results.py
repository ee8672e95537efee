"""What was heard again, one file a visit, so that a run that was stopped goes on where it was."""

from __future__ import annotations

import hashlib
import json
from dataclasses import asdict
from pathlib import Path

from dictation.archive.hearing import HeardAgain
from dictation.errors import MissingError
from dictation.records.writing import replace_file
from dictation.visit.journal_state import journal_state
from grammar.language import grammar_version


class Results:
    """A folder of results. A visit is done where its file is there and its journal did not grow."""

    def __init__(self, folder: Path, engine: str) -> None:
        self.folder = folder
        self._engine = engine
        try:
            folder.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise MissingError(
                f"{folder} cannot be written ({error.strerror}): give another folder with --out."
            ) from error

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
