"""Lines of many visits: those the visits keep, and the others folded once.

What had to be folded is kept where a session would have left it: beside the visit's journal.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import partial
from multiprocessing import get_context
from pathlib import Path

from dictation.errors import HornsweepError
from dictation.records.practice.visit_lines import VisitLines, keep_lines, kept_lines, visit_lines
from dictation.visit.journal import JOURNAL_NAME, Journal
from dictation.visit.journal_state import JournalState, journal_state

POOL_FROM = 32
"""Fewer journals are folded in this process: starting others would take longer."""

Told = Callable[[int, int], None]
"""Told how many journals are folded, of how many."""


@dataclass(frozen=True, slots=True)
class FarmVisit:
    """A visit's lines. ``farm``: where it names none, the name of the folder around it."""

    folder: Path
    farm: str
    lines: VisitLines


@dataclass(frozen=True, slots=True)
class Gathered:
    """``kept``, ``folded``: visits whose lines lay beside their journal, and visits that were
    folded now. ``left_out``: sentences on journals not read."""

    visits: tuple[FarmVisit, ...]
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


def gather(folders: tuple[Path, ...], tell: Told | None = None, afresh: bool = False) -> Gathered:
    """The lines of all visits. ``afresh``: every journal is folded, and nothing is kept."""
    states: dict[Path, JournalState] = {}
    left_out: list[str] = []
    for folder in folders:
        try:
            states[folder] = journal_state(folder)
        except HornsweepError as error:
            left_out.append(str(error))
    beside = ((folder, kept_lines(folder, state)) for folder, state in states.items())
    found = {} if afresh else {folder: lines for folder, lines in beside if lines is not None}
    kept = len(found)
    missing = tuple(folder for folder in states if folder not in found)
    each = zip(missing, _fold_each(missing, keep=not afresh), strict=True)
    for count, (folder, lines) in enumerate(each, start=1):
        if isinstance(lines, str):
            left_out.append(lines)
        else:
            found[folder] = lines
        if tell is not None:
            tell(count, len(missing))
    visits = (
        FarmVisit(folder, found[folder].farm or folder.parent.name, found[folder])
        for folder in states
        if folder in found
    )
    return Gathered(tuple(visits), kept, len(missing), tuple(left_out))


def _fold_each(folders: tuple[Path, ...], keep: bool) -> Iterator[VisitLines | str]:
    """The lines of each visit, in order; where a journal cannot be read, a sentence instead.

    ``keep``: write them beside its journal too, so that it need not be folded again.
    """
    fold_one = partial(_fold_one, keep=keep)
    if len(folders) < POOL_FROM:
        yield from map(fold_one, folders)
        return
    # Started afresh: a copy of this process could hang on a lock that one of its threads holds.
    context = get_context("spawn")
    with ProcessPoolExecutor(max_workers=os.cpu_count(), mp_context=context) as pool:
        done: Iterable[VisitLines | str] = pool.map(fold_one, folders, chunksize=4)
        yield from done


def _fold_one(folder: Path, keep: bool) -> VisitLines | str:
    try:
        with Journal.read(folder) as journal:
            visit = journal.visit()
    except HornsweepError as error:
        return str(error)
    return keep_lines(folder, visit) if keep else visit_lines(visit)
