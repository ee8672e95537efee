"""``hornsweep export``: what leaves the truck."""

from __future__ import annotations

import importlib
from pathlib import Path
from typing import Protocol, cast
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

import click

from dictation.cli.exports.wanted import Wanted
from dictation.console.terminal import sentence
from dictation.errors import MissingError, WrongUseError
from dictation.intake.reading import read_visit

FORMATS: dict[str, str] = {
    "csv": "dictation.cli.exports.csv",
    "icar": "dictation.cli.exports.icar",
    "list": "dictation.cli.exports.farm_list",
    "calendar": "dictation.cli.exports.calendar",
}
"""Name of a format: the module that writes it, loaded when it is asked for."""


class Target(Protocol):
    """A module that writes one format."""

    def write(self, wanted: Wanted) -> tuple[Path, ...]:
        """Write the files into ``wanted.out``; their paths."""


@click.command(
    epilog="Example: hornsweep export visit-2026-11-18 --to list --out for-the-farm",
)
@click.argument("folder", metavar="DIR", type=click.Path(path_type=Path))
@click.option("--to", "form", type=click.Choice(list(FORMATS)), required=True, help="Format.")
@click.option("--out", type=click.Path(path_type=Path), help="Folder to write into.")
@click.option("--herd-id", help="icar: official number of the herd, to go before each tag.")
@click.option("--source", help="icar: address (URI or reverse domain name) of the practice.")
@click.option("--vet", help="icar: who examined.")
@click.option("--zone", help="icar: time zone of the farm, such as Europe/Dublin.")
@click.option("--location", help="icar: where the farm is, as SCHEME:NUMBER.")
def command(  # noqa: PLR0913, PLR0917 - one an option
    folder: Path,
    form: str,
    out: Path | None,
    herd_id: str | None,
    source: str | None,
    vet: str | None,
    zone: str | None,
    location: str | None,
) -> None:
    """Write a visit's records for others to read; without --out, into its own folder.

    csv: every exam and finding. icar: events of the open Animal Data Exchange standard. list: a
    page to print for the farm. calendar: rechecks, sexing, dry-off and calving days.
    """
    where, place = _zone(zone), _location(location)
    visit, flags = read_visit(folder)
    target = out if out is not None else folder
    _make(target)
    module = cast("Target", importlib.import_module(FORMATS[form]))
    wanted = Wanted(folder, target, visit, flags, herd_id, source, vet, where, place)
    for path in module.write(wanted):
        sentence(f"Written: {path}")


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


def _make(target: Path) -> None:
    try:
        target.mkdir(parents=True, exist_ok=True)
    except FileExistsError as error:
        raise WrongUseError(f"{target} is a file: give a folder with --out.") from error
    except OSError as error:
        raise MissingError(
            f"{target} cannot be written ({error.strerror}): give another folder with --out."
        ) from error
