"""Hear a plan's sounds with one or two processes, keeping each result as it comes.

Results are JSON Lines: a first line that says what was measured, then a line a sound. A second run
over the same file goes on where the first one ended.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from dataclasses import dataclass
from multiprocessing import get_context
from pathlib import Path
from typing import IO, Any

from dictation.console.terminal import bar
from dictation.errors import BadInputError, WrongUseError
from tests.bench.hearing import Hearing, Row, row_of
from tests.bench.plan import BenchSound

MOST_JOBS = 2


@dataclass(frozen=True, slots=True)
class Work:
    """What to hear and with what. ``settings``: all that results depend on, for the first line."""

    sounds: tuple[BenchSound, ...]
    engines: tuple[str, ...]
    model_dir: Path | None
    settings: dict[str, str]
    jobs: int = 1


class Results:
    """The results file; without a path, nothing is kept."""

    def __init__(self, path: Path | None, work: Work, resume: bool) -> None:
        self.rows: list[Row] = []
        self._file: IO[str] | None = None
        if path is None:
            return
        if path.exists() and path.stat().st_size and not resume:
            raise WrongUseError(
                f"{path} already holds results: go on with --resume, or give another --out."
            )
        self.rows = _read(path, work) if path.exists() else []
        path.parent.mkdir(parents=True, exist_ok=True)
        self._file = path.open("w", encoding="utf-8")
        self._write(work.settings)
        for row in self.rows:
            self._write(row.record())

    def add(self, row: Row) -> None:
        """Keep one more result."""
        self.rows.append(row)
        self._write(row.record())

    def close(self) -> None:
        """Nothing more comes."""
        if self._file is not None:
            self._file.close()

    def _write(self, record: dict[str, Any]) -> None:
        if self._file is not None:
            self._file.write(json.dumps(record, ensure_ascii=False) + "\n")
            self._file.flush()


def heard(work: Work, results: Results) -> Iterator[Row]:
    """Hear what has no result yet; results come as they are ready."""
    done = {row.sound.key for row in results.rows}
    pending = [sound for sound in work.sounds if sound.key not in done]
    rows = _alone(work, pending) if work.jobs == 1 else _together(work, pending)
    for row in rows:
        results.add(row)
        yield row


def measured(work: Work, folder: Path | None, resume: bool) -> list[Row]:
    """Hear all of it and show how far it is; the rows, in order. ``folder``: keeps the results."""
    results = Results(folder and folder / "results.jsonl", work, resume)
    try:
        with bar("hearing") as progress:
            progress.show(len(results.rows), len(work.sounds))
            for _ in heard(work, results):
                progress.show(len(results.rows), len(work.sounds))
    finally:
        results.close()
    order = {sound.key: place for place, sound in enumerate(work.sounds)}
    return sorted(results.rows, key=lambda row: order[row.sound.key])


def _alone(work: Work, pending: Sequence[BenchSound]) -> Iterator[Row]:
    hearing = Hearing(work.engines, work.model_dir) if pending else None
    for sound in pending:
        assert hearing is not None
        yield hearing.row(sound)


_hearing: list[Hearing] = []  # the engines of a worker process, loaded once by _begin


def _begin(engines: tuple[str, ...], model_dir: Path | None) -> None:
    _hearing.append(Hearing(engines, model_dir))


def _hear(sound: BenchSound) -> Row:
    return _hearing[0].row(sound)


def _together(work: Work, pending: Sequence[BenchSound]) -> Iterator[Row]:
    jobs = min(work.jobs, MOST_JOBS)
    with ProcessPoolExecutor(
        jobs, get_context("spawn"), _begin, (work.engines, work.model_dir)
    ) as pool:
        waiting = [pool.submit(_hear, sound) for sound in pending]
        for future in as_completed(waiting):
            yield future.result()


def _read(path: Path, work: Work) -> list[Row]:
    lines = path.read_text(encoding="utf-8").splitlines()
    try:
        settings, *records = [json.loads(line) for line in lines if line.endswith("}")]
    except (ValueError, json.JSONDecodeError) as error:
        raise BadInputError(f"{path} holds no results of this bench: {error}.") from error
    if settings != work.settings:
        named = [k for k in work.settings if settings.get(k) != work.settings[k]]
        raise WrongUseError(
            f"{path} was measured with another {', '.join(named)}: give another --out."
        )
    sounds = {sound.key: sound for sound in work.sounds}
    return [row_of(r, sounds[r["key"]]) for r in records if r["key"] in sounds]
