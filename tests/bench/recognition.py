"""``python -m tests.bench recognition``: what is heard right, and stored wrong unasked."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import click
from rich.console import Console
from rich.table import Table

from dictation.console.terminal import sentence
from dictation.errors import WrongUseError
from tests.bench import machine
from tests.bench.figures import TABLE_WIDTH
from tests.bench.hearing import GUIDED, UNGUIDED, Row, check_engines
from tests.bench.measuring import MOST_JOBS, Work, measured
from tests.bench.plan import ALIKE, DRAWN, MORNING, Sound, plan
from tests.bench.recorded import write_recorded
from tests.bench.reliability import draw_curve
from tests.bench.report import error_lines, tables, taken_of
from tests.bench.speech import missing_engines
from tests.bench.voices import Split


@dataclass(frozen=True, slots=True)
class Job:
    """What was asked for on the command line."""

    size: str
    split: Split
    engines: tuple[str, ...]
    model_dir: Path | None
    limit: int | None
    out: Path | None
    resume: bool
    jobs: int
    show_errors: bool
    record: Path | None = None
    said: str = MORNING


class Size(click.ParamType[str]):
    """'small', 'full', or how many phrases."""

    name = "size"

    def convert(
        self, value: object, param: click.Parameter | None, ctx: click.Context | None
    ) -> str:
        """The size as ``plan`` takes it."""
        text = str(value)
        if text in {"small", "full"} or (text.isdecimal() and int(text) > 0):
            return text
        self.fail(f"'{text}' is no size: small, full, or a number of phrases.", param, ctx)


@click.command(
    epilog="Example: python -m tests.bench recognition --size 200 --split tune --show-errors"
)
@click.option("--size", type=Size(), default="small", show_default=True, help="small, full or N.")
@click.option(
    "--split",
    type=click.Choice([s.value for s in Split]),
    default=Split.TUNE.value,
    show_default=True,
    help="Which voices, phrases and noises.",
)
@click.option(
    "--engine",
    "engines",
    multiple=True,
    default=(GUIDED, UNGUIDED),
    show_default=True,
    help="guided, unguided, pocketsphinx; may be given several times.",
)
@click.option(
    "--phrases",
    "said",
    type=click.Choice((*DRAWN, ALIKE)),
    default=MORNING,
    show_default=True,
    help="Of a morning, of all words alike, or those that sound alike.",
)
@click.option("--model", type=click.Path(path_type=Path), help="Another folder of the model.")
@click.option("--limit", type=click.IntRange(1), help="Only the first so many sounds.")
@click.option("--out", type=click.Path(path_type=Path), help="Folder for results and tables.")
@click.option("--resume", is_flag=True, help="Go on with the results in --out.")
@click.option("--jobs", type=click.IntRange(1, MOST_JOBS), default=1, help="Processes, at most 2.")
@click.option("--show-errors", is_flag=True, help="List every sound that was not taken right.")
@click.option("--record", type=click.Path(path_type=Path), help="Write figures for the tests.")
def command(  # noqa: PLR0913, PLR0917 - one an option
    size: str,
    split: str,
    engines: tuple[str, ...],
    said: str,
    model: Path | None,
    limit: int | None,
    out: Path | None,
    resume: bool,
    jobs: int,
    show_errors: bool,
    record: Path | None,
) -> None:
    """Hear made-up speech in made-up shed noise, and count what is right, wrong and asked.

    The sizes: 'small' uses Debian's voices only; N phrases share out all voices and conditions;
    'full' hears 1,000 phrases in every condition and two hours of chatter (hours on two cores).
    """
    perform(
        Job(size, Split(split), engines, model, limit, out, resume, jobs, show_errors, record, said)
    )


def perform(job: Job) -> list[Row]:
    """Measure and print; the rows."""
    check_engines(job.engines)
    if job.resume and job.out is None:
        raise WrongUseError("--resume needs --out, the folder that holds the results.")
    _name_missing()
    sounds = plan(job.size, job.split, job.said)
    work = Work(tuple(_limited(sounds, job.limit)), job.engines, job.model_dir, _settings(job),
                job.jobs)  # fmt: skip
    rows = measured(work, job.out, job.resume)
    title = _title(rows, job)
    console = Console(width=TABLE_WIDTH, highlight=False)
    shown = tables(rows, job.engines, title)
    for table in shown:
        console.print(table)
    if job.show_errors:
        for line in error_lines(rows, job.engines[0]):
            console.print(line, markup=False, soft_wrap=True)
    if job.out is not None:
        _write(job.out, shown, rows, job)
    if job.record is not None:
        write_recorded(job.record, rows, job.engines[0], title)
    return rows


def _limited(sounds: list[Sound], limit: int | None) -> list[Sound]:
    """The first so many; chatter keeps its share."""
    if limit is None or limit >= len(sounds):
        return sounds
    phrases = [s for s in sounds if s.kind == "phrase"]
    others = [s for s in sounds if s.kind != "phrase"]
    share = round(limit * len(others) / len(sounds))
    return [*phrases[: limit - share], *others[:share]]


def _settings(job: Job) -> dict[str, str]:
    """All that the results depend on; resuming with others is refused."""
    return {
        "bench": "recognition",
        "size": job.size,
        "split": job.split.value,
        "phrases": job.said,
        "engines": " ".join(job.engines),
        "model": str(job.model_dir or "built in"),
        "program": machine.program(),
        "voices left out": " ".join(sorted(missing_engines())),
    }


def _title(rows: list[Row], job: Job) -> str:
    phrases = sum(r.sound.kind == "phrase" for r in rows)
    voices = len({r.sound.voice for r in rows if r.sound.kind == "phrase"})
    hours = sum(r.seconds for r in rows if r.sound.kind != "phrase") / 3600
    return (
        f"Recognition, {job.split} side: {phrases} utterances by {voices} voices, "
        f"{hours:.2f} h of chatter and noise, size {job.size}, {job.said}\n"
        f"model {job.model_dir or 'built in'}, session's own rules for asking\n"
        f"{machine.head()}\nper cent (95 % interval), {job.jobs} process"
    )


def _write(folder: Path, shown: list[Table], rows: list[Row], job: Job) -> None:
    with (folder / "tables.txt").open("w", encoding="utf-8") as file:
        console = Console(file=file, width=TABLE_WIDTH, highlight=False)
        for table in shown:
            console.print(table)
    errors = "\n".join(error_lines(rows, job.engines[0])) + "\n"
    (folder / "errors.txt").write_text(errors, encoding="utf-8")
    first = job.engines[0]
    draw_curve(taken_of(rows, first), folder / "reliability.svg", f"{first}, {job.split} side")
    sentence(f"Written to {folder}: results.jsonl, tables.txt, errors.txt, reliability.svg.")


def _name_missing() -> None:
    for name, lacking in missing_engines().items():
        sentence(f"No {name} voices here ({', '.join(lacking)} missing); they are left out.")
