"""Work on many visits in several processes, or on several machines with Dask.

On other machines the visits must lie under the same path, as on a shared disk, and hornsweep must
be installed. A worker that dies loses what it was doing and nothing else: that visit is given to
another one.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from concurrent.futures import ProcessPoolExecutor, as_completed
from functools import partial
from multiprocessing import get_context
from pathlib import Path
from typing import TypeVar

from dictation.errors import HornsweepError, MissingError

Result = TypeVar("Result")
Work = Callable[[str, str], Result]
"""The folder of a visit and the name of an engine to a result; importable by name."""

DEATHS_ALLOWED = 3
"""So many workers may die over one visit before it is held to be the cause."""

Done = tuple[Path, Result | None, str | None]
"""A visit, its result, or the sentence that says why there is none."""


def in_processes(
    visits: tuple[Path, ...], engine: str, work: Work[Result], jobs: int
) -> Iterator[Done[Result]]:
    """Each visit as it is done, in any order."""
    if jobs == 1 or len(visits) <= 1:
        for visit in visits:
            yield _done(visit, partial(work, str(visit), engine))
        return
    with ProcessPoolExecutor(jobs, mp_context=get_context("spawn")) as pool:
        waiting = {pool.submit(work, str(visit), engine): visit for visit in visits}
        for future in as_completed(waiting):
            yield _done(waiting[future], future.result)


def on_a_cluster(
    visits: tuple[Path, ...], engine: str, work: Work[Result], scheduler: str
) -> Iterator[Done[Result]]:
    """Each visit as it is done by the workers of a Dask scheduler, in any order.

    Raises MissingError where Dask is not installed or the scheduler does not answer.
    """
    try:
        from distributed import Client, as_completed
    except ImportError as error:
        raise MissingError(
            "Dask is not installed: pip install 'hornsweep[cluster]', or leave --scheduler out."
        ) from error
    try:
        client = Client(scheduler, timeout="5s")  # type: ignore[no-untyped-call]
    except OSError as error:
        raise MissingError(
            f"No Dask scheduler answers at {scheduler}: check its address and that it runs."
        ) from error
    with client:
        waiting = {
            client.submit(
                work, str(visit.resolve()), engine, pure=False, retries=DEATHS_ALLOWED
            ): visit
            for visit in visits
        }
        for future in as_completed(list(waiting)):  # type: ignore[no-untyped-call]
            visit = waiting[future]
            try:
                yield _done(visit, future.result)
            except Exception as wrong:  # of a worker that died, too
                yield visit, None, f"{visit}: {type(wrong).__name__} ({wrong})"


def _done(visit: Path, result: Callable[[], Result]) -> Done[Result]:
    try:
        return visit, result(), None
    except HornsweepError as error:
        return visit, None, str(error)
