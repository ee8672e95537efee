"""``hornsweep replay``: recordings and typed phrases, the same way as the microphone."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import click

from dictation.cli.dates import WRITTEN, VisitDate, When, folder_for
from dictation.cli.rehearing import rehear_visit
from dictation.console.safe import safe
from dictation.console.summary import summary, to_settle
from dictation.console.terminal import bar, colour, sentence, width
from dictation.errors import BadInputError, WrongUseError
from dictation.live.events import Event, Flagged, Questioned, Spoken
from dictation.live.opening import Begin, session_in
from dictation.live.replay import Telling, replay
from dictation.live.session import Session
from dictation.recognition.engines import load_engine
from grammar.exam import Severity


@dataclass(frozen=True, slots=True)
class Job:
    """What ``replay`` and ``demo`` do."""

    files: tuple[Path, ...]
    folder: Path
    when: When | None
    herd: Path | None
    engine: str
    as_json: bool
    strict: bool = False
    farm: str | None = None
    model: Path | None = None


@click.command(epilog="Example: hornsweep replay morning.flac --herd herd.csv --out visit-larkmoor")
@click.argument("files", nargs=-1, required=True, type=click.Path(path_type=Path))
@click.option("--herd", type=click.Path(path_type=Path), help="Herd list in CSV.")
@click.option("--out", type=click.Path(path_type=Path), help="Folder of the visit.")
@click.option("--engine", default="guided", show_default=True, help="Recogniser.")
@click.option("--model", type=click.Path(path_type=Path), help="Folder of the engine's model.")
@click.option("--date", "when", type=VisitDate(), help="Day of the visit, with or without time.")
@click.option("--json", "as_json", is_flag=True, help="JSON Lines instead of tables.")
@click.option("--strict", is_flag=True, help="Exit with 1 if something is left to settle.")
@click.option("--apply", is_flag=True, help="Of a visit's folder: take over what is sure now.")
def command(  # noqa: PLR0913, PLR0917 - one an option
    files: tuple[Path, ...],
    herd: Path | None,
    out: Path | None,
    engine: str,
    model: Path | None,
    when: When | None,
    as_json: bool,
    strict: bool,
    apply: bool,
) -> int:
    """Hear recordings (WAV, FLAC, OGG), or take phrases from .txt files, one a line.

    The visit goes into a folder: its journal, the sound of each phrase, exams.csv and findings.csv.
    A folder that already holds a visit is gone on with; what was heard before is not heard twice.

    Given a visit's folder instead, its sound is heard again with today's engine and grammar, and
    what would change is shown; nothing changes without --apply, and what people put right stays.
    """
    if any(path.is_dir() for path in files):
        if len(files) > 1:
            raise WrongUseError("A visit's folder is heard again by itself: give it alone.")
        return rehear_visit(files[0], engine, apply, as_json)
    if apply:
        raise WrongUseError("--apply goes with the folder of a visit, not with recordings.")
    folder = folder_for(out, when.on if when else date.today())
    return perform(Job(files, folder, when, herd, engine, as_json, strict, model=model))


def perform(job: Job) -> int:
    """Do the job; its exit code."""
    for path in job.files:
        if not path.exists():
            raise BadInputError(f"{path} is not there: check the name of the recording.")
    spoken = any(path.suffix.lower() != ".txt" for path in job.files)
    recogniser = None
    if spoken:
        with bar("loading the recogniser"):
            recogniser = load_engine(job.engine, job.model)
    begin = Begin(job.folder, None if job.when is None else job.when.on, job.herd, job.farm)
    with session_in(begin, recogniser, sentence) as session:
        if recogniser is not None:
            _print(session.recover(), job.as_json)
        _hear_all(session, job)
        _print(session.close(), job.as_json)
    if not job.as_json:
        click.echo(summary(session.visit, session.flags, width(), colour()), nl=False)
    sentence(WRITTEN.format(job.folder))
    return 1 if job.strict and to_settle(session.visit, session.flags) else 0


def _hear_all(session: Session, job: Job) -> None:
    started_at = None if job.when is None else job.when.started_at
    for path in job.files:
        with bar(f"hearing {path.name}") as progress:
            telling = Telling(sentence, lambda notice: sentence(notice.sentence), progress.show)
            for event in replay(session, path, started_at, telling):
                _print((event,), job.as_json)


def _print(happened: Sequence[Event], as_json: bool) -> None:
    for event in happened:
        if as_json:
            click.echo(json.dumps(event.record(), ensure_ascii=False))
        elif line := _line(event):
            click.echo(line)


def _line(event: Event) -> str:
    """One line for a person watching the recording go by."""
    match event:
        case Spoken(phrase=phrase):
            at = "" if phrase.at_s is None else f"{phrase.at_s:8.1f} s  "
            return safe(f"{at}{phrase.fate.upper():9} {phrase.text}")
        case Questioned(query=query) if event.is_open:
            return safe(f"      ASKED  {query.question}")
        case Flagged(flag=flag) if flag.severity is not Severity.NOTE:
            return safe(f"      {flag.severity.upper()}  {flag.why}")
        case _:
            return ""
