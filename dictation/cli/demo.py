"""``hornsweep demo``: the whole job on the shipped recording of an invented visit."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import click

from dictation.cli.dates import When
from dictation.cli.replay import Job, perform
from dictation.errors import MissingError

FOLDER = Path(__file__).resolve().parents[2] / "audio_fixtures"


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
    recording, herd, scenario = (FOLDER / name for name in names)
    if not (recording.is_file() and herd.is_file() and scenario.is_file()):
        return None
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
