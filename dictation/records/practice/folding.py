"""Visits folded by several processes."""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from multiprocessing import get_context
from pathlib import Path

from dictation.errors import HornsweepError
from dictation.records.practice.visit_lines import VisitLines, keep_lines, visit_lines
from dictation.visit.journal import Journal

POOL_FROM = 32
"""Fewer journals are folded in this process: starting others would take longer."""


def fold_each(folders: tuple[Path, ...], keep: bool) -> Iterator[VisitLines | str]:
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
