"""Visits folded by several processes."""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context
from pathlib import Path

from dictation.errors import HornsweepError
from dictation.records.practice.visit_lines import VisitLines, visit_lines
from dictation.visit.apply import fold
from dictation.visit.journal import Journal

POOL_FROM = 32
"""Fewer journals are folded in this process: starting others would take longer."""


def fold_each(folders: tuple[Path, ...]) -> Iterator[VisitLines | str]:
    """The lines of each visit, in order; where a journal cannot be read, a sentence instead."""
    if len(folders) < POOL_FROM:
        yield from map(_fold_one, folders)
        return
    # Started afresh: a copy of this process could hang on a lock that one of its threads holds.
    context = get_context("spawn")
    with ProcessPoolExecutor(max_workers=os.cpu_count(), mp_context=context) as pool:
        done: Iterable[VisitLines | str] = pool.map(_fold_one, folders, chunksize=4)
        yield from done


def _fold_one(folder: Path) -> VisitLines | str:
    try:
        with Journal.read(folder) as journal:
            return visit_lines(fold(journal.acts()))
    except HornsweepError as error:
        return str(error)
