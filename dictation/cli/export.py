"""``hornsweep export``: what leaves the truck."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

import click

from dictation.console.terminal import sentence
from dictation.decide.people.signing import standing
from dictation.decide.record import Flags
from dictation.disk import make_folder
from dictation.errors import NothingWrittenError, WrongUseError
from dictation.intake.reading import read_visit, visits_under
from dictation.records.farms import farm_named
from dictation.records.icar.sender import SOURCE, Sender
from dictation.visit.journal_state import origin_of
from dictation.visit.state import Visit
from grammar.exam import Exam

NO_PDF = (
    "list.html is for a browser to print, on A4; list.pdf beside it needs the extra pdf"
    " (pip install 'hornsweep[pdf]')."
)


@dataclass(frozen=True, slots=True)
class Wanted:
    """A visit, where its files go, the exams before it, and what was said of the sender."""

    folder: Path
    out: Path
    visit: Visit
    flags: Flags
    sender: Sender
    earlier: tuple[Exam, ...] = ()


def _csv(wanted: Wanted) -> tuple[Path, ...]:
    from dictation.records.visit_files import write_records, write_visit_files

    if wanted.out.resolve() == wanted.folder.resolve():
        return write_visit_files(wanted.folder, wanted.visit, wanted.flags)
    return write_records(wanted.out, wanted.visit, wanted.flags)


def _icar(wanted: Wanted) -> tuple[Path, ...]:
    """Events of the open standard, and a report of what is in none."""
    from dictation.records.icar.export import icar_export, write_icar
    from dictation.records.icar.findings import left_out_words

    export = icar_export(wanted.visit.exams, wanted.sender)
    left = left_out_words(export.left_out, export.only_in_words)
    _stop_where_empty(bool(export.events), left)
    return write_icar(wanted.out, export)


def _list(wanted: Wanted) -> tuple[Path, ...]:
    """list.html, and list.pdf with the extra ``pdf``."""
    from dictation.records.farm_list.page import page, write_page
    from dictation.records.since_last import since_last

    since = since_last(wanted.visit, wanted.earlier)
    paths = write_page(wanted.out, page(wanted.visit, wanted.flags, since))
    if len(paths) == 1:
        sentence(NO_PDF)
    return paths


def _calendar(wanted: Wanted) -> tuple[Path, ...]:
    from dictation.records.diary import days_of, left_out_words, write_calendar

    visit, sender = wanted.visit, wanted.sender
    _stop_where_empty(any(map(days_of, visit.exams)), left_out_words(visit.exams))
    return (write_calendar(wanted.out, visit.exams, sender.origin, visit.farm, sender.standing),)


def _changes(wanted: Wanted) -> tuple[Path, ...]:
    """Was, is, who, when and why, of all that was changed."""
    from dictation.records.changes_file import write_changes

    return write_changes(wanted.out, wanted.visit, wanted.flags)


def _text(wanted: Wanted) -> tuple[Path, ...]:
    """The farm's text message, on standard output too."""
    from dictation.records.message import message, write_message

    words, left = message(wanted.visit, wanted.flags)
    _stop_where_empty(bool(wanted.visit.exams), f"Left out for length: {left}" if left else "")
    click.echo(words)
    return (write_message(wanted.out, words),)


def _stop_where_empty(there: bool, left: str) -> None:
    """Say what is left out; raise NothingWrittenError where nothing is left to write."""
    if not there:
        raise NothingWrittenError(f"Nothing to write, and no file was written. {left}".strip())
    if left:
        sentence(left)


FORMATS: dict[str, Callable[[Wanted], tuple[Path, ...]]] = {
    "csv": _csv,
    "icar": _icar,
    "list": _list,
    "calendar": _calendar,
    "changes": _changes,
    "text": _text,
}
"""Name of a format: what writes its files; what that needs is loaded when it is asked for."""


@click.command(
    epilog="Example: hornsweep export visit-2026-11-18 --to list --out for-the-farm",
)
@click.argument("folder", metavar="DIR", type=click.Path(path_type=Path))
@click.option("--to", "form", type=click.Choice(list(FORMATS)), required=True, help="Format.")
@click.option("--out", type=click.Path(path_type=Path), help="Folder to write into.")
@click.option("--farm", help="list: a farm of 'hornsweep farm', for its earlier visits.")
@click.option(
    "--earlier",
    type=click.Path(path_type=Path),
    help="list: earlier visits; who was lost since, and who was not presented, is told.",
)
@click.option("--herd-id", help="icar: official number of the herd, to go before each tag.")
@click.option("--source", help="icar: address (URI or reverse domain name) of the practice.")
@click.option("--vet", help="icar: who examined.")
@click.option("--zone", help="icar: time zone of the farm, such as Europe/Dublin.")
@click.option("--location", help="icar: where the farm is, as SCHEME:NUMBER.")
def command(  # noqa: PLR0913, PLR0917 - one an option
    folder: Path,
    form: str,
    out: Path | None,
    farm: str | None,
    earlier: Path | None,
    herd_id: str | None,
    source: str | None,
    vet: str | None,
    zone: str | None,
    location: str | None,
) -> None:
    """Write a visit's records for others to read; without --out, into its own folder.

    csv: every exam and finding. icar: events of the open Animal Data Exchange standard. list: a
    page to print for the farm. calendar: rechecks, sexing, dry-off and calving days. text: a
    message for the farmer's telephone, 40 words at most. changes: was, is, who, when and why of all
    that was changed. Each but csv says who approved the visit. What cannot be told is named in one
    line; where nothing can, no file is written and the command exits with 1.
    """
    where, place = _zone(zone), _location(location)
    visit, flags = read_visit(folder)
    target = out if out is not None else folder
    make_folder(target)
    stands = standing(visit, flags)
    sender = Sender(origin_of(folder), source or SOURCE, herd_id, vet, where, place, stands)
    among = farm_named(farm).visits if farm is not None else earlier
    before: tuple[Exam, ...] = ()
    if among is not None:
        found, damaged = visits_under(among, but=folder)
        before = tuple(exam for past in found for exam in past.exams)
        for told in damaged:
            sentence(f"Passed over: {told}")
    wanted = Wanted(folder, target, visit, flags, sender, before)
    for path in FORMATS[form](wanted):
        sentence(f"Written: {path}")
    sentence(f"The visit: {stands}.")


def _zone(name: str | None) -> ZoneInfo | None:
    if name is None:
        return None
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError) as error:
        raise WrongUseError(f"'{name}' is no time zone like Europe/Dublin.") from error


def _location(text: str | None) -> tuple[str, str] | None:
    if text is None:
        return None
    scheme, _, number = text.partition(":")
    if not scheme.strip() or not number.strip():
        raise WrongUseError(f"'{text}' is no location like SCHEME:NUMBER, with a colon between.")
    return scheme.strip(), number.strip()
