"""``hornsweep export``: what leaves the truck."""

from __future__ import annotations

from pathlib import Path

import click

from dictation.cli.console import sentence
from dictation.cli.visits import read_visit
from dictation.errors import MissingError, WrongUseError
from dictation.records.csv_files import write_csv

FORMATS = ("csv", "icar", "list", "calendar")
WRITTEN = ("csv",)
"""Formats that this version writes."""


@click.command(epilog="Example: hornsweep export visit-2026-11-18 --to csv --out for-the-farm")
@click.argument("folder", metavar="DIR", type=click.Path(path_type=Path))
@click.option("--to", "form", type=click.Choice(FORMATS), required=True, help="Format.")
@click.option("--out", type=click.Path(path_type=Path), help="Folder to write into.")
def command(folder: Path, form: str, out: Path | None) -> None:
    """Write a visit's records; without --out, into its own folder."""
    if form not in WRITTEN:
        raise WrongUseError(f"Export to {form} is not in this version yet: use --to {WRITTEN[0]}.")
    visit, flags = read_visit(folder)
    target = out if out is not None else folder
    try:
        target.mkdir(parents=True, exist_ok=True)
    except FileExistsError as error:
        raise WrongUseError(f"{target} is a file: give a folder with --out.") from error
    except OSError as error:
        raise MissingError(
            f"{target} cannot be written ({error.strerror}): give another folder with --out."
        ) from error
    for path in write_csv(target, visit.exams, flags):
        sentence(f"Written: {path}")
