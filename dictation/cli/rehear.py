"""``hornsweep rehear``: an archive of visits heard again, beside what its journals hold."""

from __future__ import annotations

from pathlib import Path

import click

from dictation.archive.hearing import HeardAgain, Results, hear_visit
from dictation.archive.spreading import in_processes, on_a_cluster
from dictation.console.safe import safe
from dictation.console.terminal import bar, sentence
from dictation.errors import BadInputError
from dictation.records.practice.gathering import visit_folders


@click.command(epilog="Example: hornsweep rehear visits-2025 --out heard-again --jobs 2")
@click.argument("roots", metavar="DIR...", nargs=-1, required=True, type=click.Path(path_type=Path))
@click.option("--out", required=True, type=click.Path(path_type=Path), help="Folder of results.")
@click.option("--engine", default="guided", show_default=True, help="Recogniser.")
@click.option("--jobs", default=1, show_default=True, type=click.IntRange(1), help="Processes.")
@click.option("--scheduler", help="Address of a Dask scheduler, such as tcp://10.0.0.5:8786.")
def command(
    roots: tuple[Path, ...], out: Path, engine: str, jobs: int, scheduler: str | None
) -> None:
    """Hear the kept sound of visits again and say where other values are heard now.

    No journal is changed. Results lie in --out, one file a visit; run it again with the same folder
    to go on after a stop.
    """
    visits = visit_folders(roots)
    if not visits:
        raise BadInputError(f"{', '.join(map(str, roots))}: no visit lies in there.")
    results = Results(out, engine)
    left = results.left(visits)
    failed: set[Path] = set()
    with bar("hearing again") as progress:
        if scheduler is None:
            done = in_processes(left, engine, hear_visit, jobs)
        else:
            done = on_a_cluster(left, engine, hear_visit, scheduler)
        for count, (visit, heard, mistake) in enumerate(done, start=1):
            if heard is None:
                failed.add(visit)
                sentence(f"Left out: {mistake}")
            else:
                results.put(visit, heard)
            progress.show(count, len(left))
    other = 0
    for visit in visits:
        if visit not in failed:
            other += sum(_tell(visit, each) for each in results.of(visit))
    heard_now = len(left) - len(failed)
    sentence(f"{heard_now} visits heard, {len(visits) - len(left)} were done; {other} differ.")


def _tell(visit: Path, each: HeardAgain) -> bool:
    """One line an utterance that carries other values now."""
    if each.same:
        return False
    now = each.why or each.now or "nothing"
    cells = (str(visit), each.audio, each.was or "nothing", now, f"{each.confidence:.2f}")
    click.echo("\t".join(safe(cell) for cell in cells))
    return True
