"""``hornsweep replay``: recordings and typed phrases, the same way as the microphone."""

from __future__ import annotations

import getpass
import json
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from datetime import date
from functools import partial
from itertools import zip_longest
from pathlib import Path
from typing import Any

import click

from dictation.archive.differences import Difference, Kept, rehear, take_over
from dictation.cli.dates import WRITTEN, VisitDate, When, folder_for
from dictation.console.safe import safe
from dictation.console.summary import summary, to_settle
from dictation.console.terminal import bar, colour, sentence, width
from dictation.decide.record import Record
from dictation.errors import (
    BadInputError,
    HornsweepError,
    MissingError,
    StoppedError,
    WrongUseError,
)
from dictation.intake.upgrade import brought_up
from dictation.live.events import Event, Flagged, Questioned, Spoken, record_of
from dictation.live.replay import Telling, replay, so_far
from dictation.live.session import Begin, Session, session_in
from dictation.recognition.engines import load_engine
from dictation.recognition.protocol import Recogniser
from dictation.records.farms import farm_named
from dictation.records.visit_files import write_visit_files
from dictation.visit.journal import AUDIO_FOLDER
from grammar.exam import Severity
from grammar.findings import finding_record
from grammar.language import grammar_version
from grammar.parse import parse
from grammar.wording import written


@dataclass(frozen=True, slots=True)
class Job:
    """What ``replay`` and ``demo`` do: the fields are the options of ``replay``."""

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
@click.option("--farm", help="A farm of 'hornsweep farm': its herd list, and where it goes.")
@click.option("--herd", type=click.Path(path_type=Path), help="Herd list: CSV, XLSX, ODS, JSON.")
@click.option("--out", type=click.Path(path_type=Path), help="Folder of the visit.")
@click.option("--engine", default="guided", show_default=True, help="Recogniser.")
@click.option("--model", type=click.Path(path_type=Path), help="Folder of the engine's model.")
@click.option("--date", "when", type=VisitDate(), help="Day of the visit, with or without time.")
@click.option("--json", "as_json", is_flag=True, help="JSON Lines instead of tables.")
@click.option("--strict", is_flag=True, help="Exit with 1 if something is left to settle.")
@click.option("--apply", is_flag=True, help="Of a visit's folder: take over what is sure now.")
def command(out: Path | None, apply: bool, farm: str | None, **given: Any) -> int:
    """Hear recordings (WAV, FLAC, OGG), or take phrases from .txt files, one a line.

    The visit goes into a folder: its journal, the sound of each phrase, exams.csv and findings.csv.
    A folder that already holds a visit is gone on with; what was heard before is not heard twice.

    Given a visit's folder instead, its sound is heard again with today's engine and grammar, and
    what would change is shown; nothing changes without --apply, and what people put right stays.
    """
    on = given["when"].on if given["when"] else date.today()
    known = None if farm is None else farm_named(farm)
    if known is not None:
        given |= {"herd": given["herd"] or known.herd, "farm": known.called}
    job = Job(folder=folder_for(out, on, known), **given)
    if any(path.is_dir() for path in job.files):
        if len(job.files) > 1:
            raise WrongUseError("A visit's folder is heard again by itself: give it alone.")
        return _rehear_visit(job.files[0], job.engine, apply, job.as_json)
    if apply:
        raise WrongUseError("--apply goes with the folder of a visit, not with recordings.")
    return perform(job)


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
        with bar(f"hearing {path.name}") as progress, _ended_early(session, path):
            telling = Telling(sentence, lambda notice: sentence(notice.sentence), progress.show)
            for event in replay(session, path, started_at, telling):
                _print((event,), job.as_json)


@contextmanager
def _ended_early(session: Session, path: Path) -> Iterator[None]:
    """What ends the hearing of a file also says how much of it was taken."""
    again = "everything up to there is kept, and the same command again goes on from there."
    try:
        yield
    except MissingError as error:
        words = so_far(session.visit, path)
        raise MissingError(f"{words[:1].upper()}{words[1:]}. {error}") from error
    except (KeyboardInterrupt, BrokenPipeError) as stop:
        with suppress(HornsweepError):
            session.catch_up()  # the last entry may be written and not taken up yet
        words = f"{so_far(session.visit, path)}; {again}"
        if isinstance(stop, KeyboardInterrupt):
            raise StoppedError(f"Stopped: {words}") from stop
        with suppress(OSError):
            sentence(f"Nobody reads what is printed any more: {words}")
        raise


def _print(happened: Sequence[Event], as_json: bool) -> None:
    for event in happened:
        if as_json:
            click.echo(json.dumps(record_of(event), ensure_ascii=False))
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


def _rehear_visit(folder: Path, engine: str, apply: bool, as_json: bool) -> int:
    """Hear the visit of a folder again; with ``apply``, take over what is sure now. Exit code."""
    brought_up(folder, sentence)
    with Record.amend(folder, partial(write_visit_files, folder)) as visit:
        recogniser = load_engine(engine)
        outcomes = _hear(visit, recogniser, folder / AUDIO_FOLDER)
        kept = [each for each in outcomes if isinstance(each, Kept)]
        differences = [each for each in outcomes if isinstance(each, Difference)]
        for difference in differences:
            click.echo(json.dumps(_record(difference)) if as_json else "\n".join(_told(difference)))
        wanted = [each for each in differences if not each.left]
        if apply:
            version, who = grammar_version(), getpass.getuser()
            for difference in wanted:
                take_over(visit, difference, recogniser.name, version, who)
    done = "were taken over" if apply else "would change; --apply takes them over"
    heard = len(outcomes) - len(kept)
    sentence(
        f"Of {heard} utterances heard again {len(differences)} are heard otherwise;"
        f" {len(wanted)} {done}. {len(kept)} were left as people or the speaker made them."
    )
    return 0


def _hear(visit: Record, recogniser: Recogniser, audio: Path) -> list[Difference | Kept | None]:
    outcomes: list[Difference | Kept | None] = []
    with bar("hearing again") as progress:
        for each in rehear(visit, recogniser, parse, audio):
            outcomes.append(each)
            progress.show(len(outcomes), len(visit.visit.phrases))
    return outcomes


def _told(difference: Difference) -> list[str]:
    """A difference for a person: where, what was heard and what is, finding by finding."""
    whose = f"tag {difference.tag}" if difference.tag else f"exam {difference.phrase.exam}"
    head = (
        f"{difference.phrase.at_s or 0.0:8.1f} s  {whose}"
        f"  “{difference.phrase.text}” is now “{difference.text}”"
    )
    found = [head]
    gone = [written(f) for f in difference.before if f not in difference.now]
    new = [written(f) for f in difference.now if f not in difference.before]
    for was, now in zip_longest(gone, new, fillvalue="nothing"):
        found.append(f"            {was} -> {now}")
    if not gone and not new:
        found.append("            the same, and sure now")
    if difference.left:
        found.append(f"            left as it is: {difference.left}")
    return [safe(line) for line in found]


def _record(difference: Difference) -> dict[str, object]:
    """A difference as one line of JSON."""
    return {
        "event": "reheard",
        "utterance": difference.phrase.number,
        "exam": difference.phrase.exam,
        "tag": difference.tag,
        "at_s": difference.phrase.at_s or 0.0,
        "text_before": difference.phrase.text,
        "text": difference.text,
        "before": [finding_record(finding) for finding in difference.before],
        "now": [finding_record(finding) for finding in difference.now],
        "confidence": difference.confidence,
        "was_asked": difference.was_asked,
        "left": difference.left or None,
    }
