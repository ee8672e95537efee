"""``hornsweep demo``: the whole job on the shipped recording of an invented visit."""

from __future__ import annotations

from pathlib import Path

import click

from dictation.cli.dates import When
from dictation.cli.demonstration import demonstration
from dictation.cli.replay import Job, perform
from dictation.errors import MissingError


@click.command(epilog="Example: hornsweep demo --out my-demo")
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    default=Path("hornsweep-demo"),
    show_default=True,
    help="Folder of the visit.",
)
@click.option("--engine", default="guided", show_default=True, help="Recogniser.")
@click.option("--json", "as_json", is_flag=True, help="JSON Lines instead of tables.")
def command(out: Path, engine: str, as_json: bool) -> int:
    """Hear a recorded visit to an invented farm, check it, print it, write its files."""
    shipped = demonstration()
    if shipped is None:
        raise MissingError(
            "The recording of the demonstration is not installed: run this in a copy of the"
            " source, where it lies in audio_fixtures."
        )
    job = Job(
        (shipped.recording,),
        out,
        When(shipped.on),
        shipped.herd,
        engine,
        as_json,
        False,
        shipped.farm,
    )
    return perform(job)
