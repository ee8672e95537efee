"""Lines of many visits: journals folded by several processes, what was folded before kept.

Kept is one Parquet file in the user's cache folder; it may be deleted at any time. A visit is known
by where its journal lies, when it was opened and its last event, so a journal that has grown, or
that lies elsewhere, is folded anew.
"""

from __future__ import annotations

import hashlib
import io
import os
from collections.abc import Callable, Iterable
from concurrent.futures import ProcessPoolExecutor
from contextlib import suppress
from dataclasses import astuple, dataclass, fields
from multiprocessing import get_context
from pathlib import Path
from typing import TYPE_CHECKING

from dictation.errors import HornsweepError
from dictation.records.practice.exam_lines import ExamLine, lines_of
from dictation.records.writing import replace_file
from dictation.session.fold import fold
from dictation.session.journal import JOURNAL_NAME, Journal
from dictation.session.journal_state import JournalState, journal_state

if TYPE_CHECKING:
    import polars as pl

FORM = 1
"""Goes up whenever a line is made otherwise; what was kept in another form is not used."""

POOL_FROM = 8
"""Fewer journals are folded in this process: starting others would take longer."""

Told = Callable[[int, int], None]
"""Told how many journals are done, of how many."""


@dataclass(frozen=True, slots=True)
class Gathered:
    """``frame``: one row an exam, with its visit. ``left_out``: sentences on journals not read."""

    frame: pl.DataFrame
    visits: int
    folded: int
    left_out: tuple[str, ...]


def visit_folders(roots: Iterable[Path]) -> tuple[Path, ...]:
    """Folders of visits: those given, and those in them at any depth; each once, in order."""
    found: dict[Path, None] = {}
    for root in roots:
        if (root / JOURNAL_NAME).is_file():
            found[root.resolve()] = None
        for path in sorted(root.rglob(JOURNAL_NAME)):
            found[path.parent.resolve()] = None
    return tuple(found)


def gather(folders: tuple[Path, ...], kept: Path | None, tell: Told | None = None) -> Gathered:
    """The lines of all visits. ``kept``: the file of what was folded before; None keeps nothing."""
    import polars as pl

    states: dict[str, tuple[Path, JournalState]] = {}
    left_out: list[str] = []
    for folder in folders:
        try:
            state = journal_state(folder)
        except HornsweepError as error:
            left_out.append(str(error))
            continue
        states[_key(folder, state)] = (folder, state)
    before = _kept(kept)
    known = before.filter(pl.col("key").is_in(list(states)))
    done = set(known["key"].to_list())
    missing = {key: folder for key, (folder, _) in states.items() if key not in done}
    fresh, mistakes = _folded(missing, tell)
    left_out += mistakes
    frame = pl.concat([known, fresh]) if len(fresh) else known
    if kept is not None and len(fresh):
        others = before.filter(~pl.col("key").is_in(list(states)))
        _keep(kept, pl.concat([frame, _still_there(others)]))
    read = len(states) - len(mistakes)
    exams = frame.filter(pl.col("exam") > 0)
    return Gathered(
        exams.sort("farm", "on_date", "key", "exam"), read, len(missing), tuple(left_out)
    )


def _key(folder: Path, state: JournalState) -> str:
    text = f"{FORM}|{folder}|{state.opened_at}|{state.last_seq}|{state.changed_at}"
    return hashlib.sha256(text.encode()).hexdigest()[:32]


def _folded(missing: dict[str, Path], tell: Told | None) -> tuple[pl.DataFrame, list[str]]:
    import polars as pl

    rows: list[tuple[object, ...]] = []
    mistakes: list[str] = []
    for count, (key, (lines, mistake)) in enumerate(_each(missing), start=1):
        if mistake is not None:
            mistakes.append(mistake)
        else:
            folder = str(missing[key])
            rows += [(key, folder, *astuple(line)) for line in lines]
            # A visit without an exam is known too, by a row that counts nowhere.
            rows += [(key, folder, *_NOTHING)] if not lines else []
        if tell is not None:
            tell(count, len(missing))
    return pl.DataFrame(rows, schema=_schema(), orient="row"), mistakes


def _each(
    missing: dict[str, Path],
) -> Iterable[tuple[str, tuple[tuple[ExamLine, ...], str | None]]]:
    if len(missing) < POOL_FROM:
        yield from ((key, _fold_one(folder)) for key, folder in missing.items())
        return
    # Started afresh: a copy of this process could hang on a lock that one of its threads holds.
    context = get_context("spawn")
    with ProcessPoolExecutor(max_workers=os.cpu_count(), mp_context=context) as pool:
        done = pool.map(_fold_one, missing.values(), chunksize=4)
        yield from zip(missing, done, strict=True)


def _fold_one(folder: Path) -> tuple[tuple[ExamLine, ...], str | None]:
    try:
        with Journal.read(folder) as journal:
            visit = fold(journal.entries())
    except HornsweepError as error:
        return (), str(error)
    return lines_of(visit, visit.farm or folder.parent.name), None


_NOTHING = (None, None, 0, *([None] * (len(fields(ExamLine)) - 3)))


def _schema() -> dict[str, pl.DataType]:
    import polars as pl

    kinds: dict[str, pl.DataType] = {
        "date": pl.Date(),
        "int": pl.Int64(),
        "float": pl.Float64(),
        "bool": pl.Boolean(),
        "str": pl.String(),
    }
    columns = {"key": pl.String(), "folder": pl.String()}
    named = {each.name: kinds[str(each.type).removesuffix(" | None")] for each in fields(ExamLine)}
    return {**columns, **named}


def _kept(path: Path | None) -> pl.DataFrame:
    import polars as pl

    if path is not None:
        # Whatever is wrong with what was kept, it can be made again.
        with suppress(Exception):
            frame = pl.read_parquet(path)
            if frame.schema == pl.Schema(_schema()):
                return frame
    return pl.DataFrame(schema=_schema())


def _still_there(others: pl.DataFrame) -> pl.DataFrame:
    """What was kept of other folders, as long as they hold their journal."""
    import polars as pl

    gone = [f for f in others["folder"].unique() if not (Path(f) / JOURNAL_NAME).is_file()]
    return others.filter(~pl.col("folder").is_in(gone))


def _keep(path: Path, frame: pl.DataFrame) -> None:
    out = io.BytesIO()
    frame.write_parquet(out)
    # A cache that cannot be written costs time and nothing else.
    with suppress(OSError, HornsweepError):
        path.parent.mkdir(parents=True, exist_ok=True)
        replace_file(path, out.getvalue())
