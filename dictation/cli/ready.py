"""``hornsweep ready``: is everything there, and if not, how to get it."""

from __future__ import annotations

import json
from pathlib import Path

import click

from dictation.cli.readiness import Finding, look


@click.command(epilog="Example: hornsweep ready --out /media/stick/visits")
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    default=Path(),
    help="Where visits will be written; the current folder if not given.",
)
@click.option("--json", "as_json", is_flag=True, help="One JSON array.")
def command(out: Path, as_json: bool) -> int:
    """Look for the model, the microphone and its level, room on the disk, and the clock.

    Exits with 4 where something is missing without which no recording can be heard.
    """
    found = look(out)
    if as_json:
        click.echo(json.dumps([each.record() for each in found], indent=2))
    else:
        for each in found:
            click.echo(_line(each))
    return 4 if any(each.needed and not each.there for each in found) else 0


def _line(found: Finding) -> str:
    word = "ready" if found.there else "MISSING" if found.needed else "not there"
    advice = f" {found.advice}" if found.advice else ""
    return f"{word:10} {found.what:12} {found.told}{advice}"
