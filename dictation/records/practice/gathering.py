"""Lines of many visits in one frame: those the visits keep, and the others folded once.

What had to be folded is kept in one Parquet file in the user's cache folder, which may be deleted
at any time. A visit there is known by where its journal lies, when it was opened, its last event
and the reckoning, so a journal that has grown, or that lies elsewhere, is folded anew.
"""

from __future__ import annotations

import hashlib
import io
from collections.abc import Callable, Iterable
from contextlib import suppress
from dataclasses import dataclass, fields
from pathlib import Path
from typing import TYPE_CHECKING

from dictation.errors import HornsweepError
from dictation.records.practice.exam_lines import ExamLine
from dictation.records.practice.folding import fold_each
from dictation.records.practice.reckoning import reckoning
from dictation.records.practice.visit_lines import VisitLines, kept_lines
from dictation.records.writing import replace_file
from dictation.visit.journal import JOURNAL_NAME
from dictation.visit.journal_state import JournalState, journal_state

if TYPE_CHECKING:
    import polars as pl

Told = Callable[[int, int], None]
"""Told how many journals are folded, of how many."""


@dataclass(frozen=True, slots=True)
class Gathered:
    """``frame``: one row an exam, with its visit. ``kept``, ``folded``: visits whose lines lay
    beside their journal, and visits that were folded now. ``left_out``: sentences on journals not
    read."""

    frame: pl.DataFrame
    visits: int
    kept: int
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


def gather(
    folders: tuple[Path, ...],
    cache: Path | None,
    tell: Told | None = None,
    afresh: bool = False,
) -> Gathered:
    """The lines of all visits. ``cache``: the file of what was folded before; None keeps nothing.

    ``afresh``: every journal is folded, whatever was kept.
    """
    import polars as pl

    states, left_out = _states(folders)
    own = {} if afresh else _own(states)
    before = cached(None if afresh else cache)
    others = {_key(folder, state): folder for folder, state in states.items() if folder not in own}
    known = before.filter(pl.col("key").is_in(list(others)))
    done = set(known["key"].to_list())
    missing = {key: folder for key, folder in others.items() if key not in done}
    fresh, mistakes = _folded(missing, tell)
    if cache is not None and len(fresh):
        _keep(cache, pl.concat([_still_there(before, set(states)), known, fresh]))
    frame = pl.concat([_frame(own), known, fresh]).filter(pl.col("exam") > 0)
    return Gathered(
        frame.sort("farm", "on_date", "folder", "exam"),
        len(states) - len(mistakes),
        len(own),
        len(missing),
        (*left_out, *mistakes),
    )


def _states(folders: tuple[Path, ...]) -> tuple[dict[Path, JournalState], list[str]]:
    states: dict[Path, JournalState] = {}
    left_out: list[str] = []
    for folder in folders:
        try:
            states[folder] = journal_state(folder)
        except HornsweepError as error:
            left_out.append(str(error))
    return states, left_out


def _own(states: dict[Path, JournalState]) -> dict[Path, tuple[str, VisitLines]]:
    found = ((folder, kept_lines(folder, state)) for folder, state in states.items())
    return {folder: ("", lines) for folder, lines in found if lines is not None}


def _key(folder: Path, state: JournalState) -> str:
    text = f"{reckoning()}|{folder}|{state.opened_at}|{state.last_seq}|{state.changed_at}"
    return hashlib.sha256(text.encode()).hexdigest()[:32]


def _folded(missing: dict[str, Path], tell: Told | None) -> tuple[pl.DataFrame, list[str]]:
    import polars as pl

    found: dict[Path, tuple[str, VisitLines]] = {}
    mistakes: list[str] = []
    each = zip(missing.items(), fold_each(tuple(missing.values())), strict=True)
    for count, ((key, folder), lines) in enumerate(each, start=1):
        if isinstance(lines, str):
            mistakes.append(lines)
        else:
            found[folder] = (key, lines)
        if tell is not None:
            tell(count, len(missing))
    # A visit without an exam is known too, by a row that counts nowhere.
    none = [(key, str(folder), 0) for folder, (key, lines) in found.items() if not lines.exams]
    columns = {"key": pl.String(), "folder": pl.String(), "exam": pl.Int64()}
    empty = pl.DataFrame(none, schema=columns, orient="row")
    return pl.concat([_frame(found), empty], how="diagonal"), mistakes


def _frame(visits: dict[Path, tuple[str, VisitLines]]) -> pl.DataFrame:
    """One row an exam. Where a visit names no farm, the folder around it names it."""
    import polars as pl

    count = [lines.exams for _, lines in visits.values()]
    if not sum(count):
        return pl.DataFrame(schema=frame_schema())
    body = b"".join(lines.body for _, lines in visits.values())
    rows = pl.read_ndjson(body, schema=_line_schema())
    each = pl.DataFrame(
        {
            "key": [key for key, _ in visits.values()],
            "folder": [str(folder) for folder in visits],
            "farm": [lines.farm or folder.parent.name for folder, (_, lines) in visits.items()],
        },
        schema={name: pl.String() for name in ("key", "folder", "farm")},
    )
    place = [place for place, exams in enumerate(count) for _ in range(exams)]
    return pl.concat([each[place], rows], how="horizontal")


def _line_schema() -> dict[str, pl.DataType]:
    import polars as pl

    kinds: dict[str, pl.DataType] = {
        "date": pl.Date(),
        "int": pl.Int64(),
        "float": pl.Float64(),
        "bool": pl.Boolean(),
        "str": pl.String(),
    }
    return {each.name: kinds[str(each.type).removesuffix(" | None")] for each in fields(ExamLine)}


def frame_schema() -> dict[str, pl.DataType]:
    """Columns of the frame: the visit, then the fields of a line."""
    import polars as pl

    return {name: pl.String() for name in ("key", "folder", "farm")} | _line_schema()


def cached(path: Path | None) -> pl.DataFrame:
    """What was folded before."""
    import polars as pl

    if path is not None:
        # Whatever is wrong with what was kept, it can be made again.
        with suppress(Exception):
            frame = pl.read_parquet(path)
            if frame.schema == pl.Schema(frame_schema()):
                return frame
    return pl.DataFrame(schema=frame_schema())


def _still_there(before: pl.DataFrame, gathered: set[Path]) -> pl.DataFrame:
    """What was kept of other folders, as long as they hold their journal."""
    import polars as pl

    kept = [
        name
        for name in before["folder"].unique()
        if Path(name) not in gathered and (Path(name) / JOURNAL_NAME).is_file()
    ]
    return before.filter(pl.col("folder").is_in(kept))


def _keep(path: Path, frame: pl.DataFrame) -> None:
    out = io.BytesIO()
    frame.write_parquet(out)
    # A cache that cannot be written costs time and nothing else.
    with suppress(OSError, HornsweepError):
        path.parent.mkdir(parents=True, exist_ok=True)
        replace_file(path, out.getvalue())
