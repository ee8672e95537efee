"""Hear real people and real sound, and our phrases as real surroundings and headsets make them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import click
from rich.console import Console

from dictation.console.terminal import sentence
from dictation.errors import WrongUseError
from tests.bench import machine
from tests.bench.figures import TABLE_WIDTH
from tests.bench.hearing import GUIDED, UNGUIDED, Row, check_engines
from tests.bench.made_in_real import HEADSET, REAL_NOISE, made_sounds
from tests.bench.measuring import MOST_JOBS, Work, measured
from tests.bench.people_report import people_tables
from tests.bench.plan import BenchSound
from tests.bench.real_people import KINDS, real_sounds
from tests.bench.real_recordings import FOLDER_VARIABLE
from tests.bench.report import error_lines
from tests.bench.voices import Split

EVERY_KIND = (*KINDS, REAL_NOISE, HEADSET)


@dataclass(frozen=True, slots=True)
class Job:
    """What was asked for on the command line. ``limit``: the most sounds of a kind."""

    folder: Path
    split: Split
    kinds: tuple[str, ...]
    engines: tuple[str, ...]
    model_dir: Path | None
    limit: int | None
    out: Path | None
    resume: bool
    jobs: int
    show_errors: bool


def sounds_of(
    folder: Path, split: Split, kinds: Sequence[str] = EVERY_KIND, limit: int | None = None
) -> list[BenchSound]:
    """The sounds of these kinds, at most ``limit`` of each; the same ones every time."""
    found: list[BenchSound] = []
    for kind in kinds:
        made = kind in {REAL_NOISE, HEADSET}
        found += (made_sounds if made else real_sounds)(folder, split, [kind])[:limit]
    return found


@click.command(epilog="Example: python -m tests.bench people --side tune --kind tag --limit 40")
@click.option(
    "--recordings",
    "folder",
    type=click.Path(path_type=Path),
    envvar=FOLDER_VARIABLE,
    help=f"Folder of recordings; else {FOLDER_VARIABLE} names it.",
)
@click.option(
    "--side",
    type=click.Choice([s.value for s in Split]),
    default=Split.TUNE.value,
    show_default=True,
    help="Which people, noises, voices and phrases.",
)
@click.option("--kind", "kinds", multiple=True, type=click.Choice(EVERY_KIND), help="Only this.")
@click.option(
    "--engine", "engines", multiple=True, default=(GUIDED,), help=f"{GUIDED} or {UNGUIDED}."
)
@click.option("--model", type=click.Path(path_type=Path), help="Another folder of the model.")
@click.option("--limit", type=click.IntRange(1), help="Only the first so many of each kind.")
@click.option("--out", type=click.Path(path_type=Path), help="Folder for results and tables.")
@click.option("--resume", is_flag=True, help="Go on with the results in --out.")
@click.option("--jobs", type=click.IntRange(1, MOST_JOBS), default=1, help="Processes, at most 2.")
@click.option("--show-errors", is_flag=True, help="List every sound that was not taken right.")
def command(  # noqa: PLR0913, PLR0917 - one an option
    folder: Path | None,
    side: str,
    kinds: tuple[str, ...],
    engines: tuple[str, ...],
    model: Path | None,
    limit: int | None,
    out: Path | None,
    resume: bool,
    jobs: int,
    show_errors: bool,
) -> None:
    """Hear people who never spoke our language, real noise and headsets; count as the session does.

    Figures by people and by made voices stand in tables of their own: they are never added up.
    """
    if folder is None:
        raise WrongUseError(
            f"no folder of recordings is named: give --recordings DIR, or set {FOLDER_VARIABLE}."
        )
    perform(
        Job(folder, Split(side), kinds or EVERY_KIND, engines, model, limit, out, resume, jobs,
            show_errors)
    )  # fmt: skip


def perform(job: Job) -> list[Row]:
    """Measure and print; the rows."""
    check_engines(job.engines)
    if job.resume and job.out is None:
        raise WrongUseError("--resume needs --out, the folder that holds the results.")
    sounds = sounds_of(job.folder, job.split, job.kinds, job.limit)
    work = Work(tuple(sounds), job.engines, job.model_dir, _settings(job), job.jobs)
    rows = measured(work, job.out, job.resume)
    _print(rows, job, Console(width=TABLE_WIDTH, highlight=False))
    if job.show_errors:
        for line in error_lines(rows, job.engines[0]):
            print(line)
    if job.out is not None:
        with (job.out / "tables.txt").open("w", encoding="utf-8") as file:
            _print(rows, job, Console(file=file, width=TABLE_WIDTH, highlight=False))
        errors = "\n".join(error_lines(rows, job.engines[0])) + "\n"
        (job.out / "errors.txt").write_text(errors, encoding="utf-8")
        sentence(f"Written to {job.out}: results.jsonl, tables.txt, errors.txt.")
    return rows


def _print(rows: Sequence[Row], job: Job, console: Console) -> None:
    title = f"{job.split} side, model {job.model_dir or 'built in'}\n{machine.head()}"
    console.print(title, markup=False)
    for engine in job.engines:
        for table in people_tables(rows, engine):
            console.print(table)


def _settings(job: Job) -> dict[str, str]:
    """All that the results depend on; resuming with others is refused."""
    return {
        "bench": "people",
        "side": job.split.value,
        "kinds": ", ".join(job.kinds),
        "engines": " ".join(job.engines),
        "model": str(job.model_dir or "built in"),
        "program": machine.program(),
    }
