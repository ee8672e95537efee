"""``hornsweep demo``: the whole job on the shipped recording of an invented visit."""

from __future__ import annotations

import sysconfig
import tomllib
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import click

from dictation.cli.dates import When
from dictation.cli.replay import Job, perform
from dictation.errors import MissingError

IN_SOURCE = Path(__file__).resolve().parents[2] / "audio_fixtures"
INSTALLED = Path(sysconfig.get_path("data")) / "share" / "hornsweep"


@dataclass(frozen=True, slots=True)
class Demonstration:
    """The recording, its herd list and its day."""

    recording: Path
    herd: Path
    on: date
    farm: str


def demonstration() -> Demonstration | None:
    """The shipped recording; None where only the program was installed."""
    names = ("demo_visit.flac", "demo_herd.csv", "demo_visit.toml")
    there = (f for f in (IN_SOURCE, INSTALLED) if all((f / name).is_file() for name in names))
    folder = next(there, None)
    if folder is None:
        return None
    recording, herd, scenario = (folder / name for name in names)
    visit = tomllib.loads(scenario.read_text(encoding="utf-8"))["visit"]
    return Demonstration(recording, herd, visit["date"], visit["farm"])


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
    when, files = When(shipped.on), (shipped.recording,)
    return perform(Job(files, out, when, shipped.herd, engine, as_json, farm=shipped.farm))
