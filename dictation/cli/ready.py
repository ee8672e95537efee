"""``hornsweep ready``: is everything there that a visit needs, and if not, how to get it."""

from __future__ import annotations

import json
import shutil
import time
from dataclasses import asdict, dataclass
from datetime import datetime
from pathlib import Path

import click
import numpy as np

from dictation.audio.devices import port_audio, sound_errors
from dictation.errors import HornsweepError
from dictation.recognition.engines import load_engine

ROOM_MB = 500
"""Room for about four hours of utterances as FLAC (1.1 MB a minute) and the journal."""

TOO_QUIET_DBFS = -70.0
"""Below this a microphone is switched off or the wrong one: a quiet room gives more."""

LISTEN_S = 0.5

EARLIEST_YEAR = 2024
"""A clock before this has not been set."""


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing looked for. ``needed``: nothing can be heard without it."""

    what: str
    there: bool
    needed: bool
    told: str
    advice: str = ""


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
    found = (_model(), _microphone(), _disk(out), _clock())
    if as_json:
        click.echo(json.dumps([asdict(each) for each in found], indent=2))
    else:
        for each in found:
            click.echo(_line(each))
    return 4 if any(each.needed and not each.there for each in found) else 0


def _line(found: Finding) -> str:
    word = "ready" if found.there else "MISSING" if found.needed else "not there"
    advice = f" {found.advice}" if found.advice else ""
    return f"{word:10} {found.what:12} {found.told}{advice}"


def _model() -> Finding:
    begun = time.perf_counter()
    try:
        engine = load_engine("guided")
    except HornsweepError as error:
        return Finding("model", False, True, str(error))
    seconds = time.perf_counter() - begun
    return Finding("model", True, True, f"'{engine.name}' loaded in {seconds:.1f} s")


def _microphone() -> Finding:
    advice = "Recordings can be heard without one."
    try:
        audio = port_audio()
        device = audio.query_devices(kind="input")
        rate = int(device["default_samplerate"])
        sound = audio.rec(int(LISTEN_S * rate), rate, 1, dtype="float32", blocking=True)
    except sound_errors() as error:
        told = " ".join(str(error).split())
        return Finding("microphone", False, False, f"none can be opened ({told}).", advice)
    level = 20 * float(np.log10(np.sqrt(np.mean(np.square(sound))) + 1e-9))
    name = device["name"]
    if level < TOO_QUIET_DBFS:
        told = f"'{name}' is silent ({level:.0f} dBFS)."
        advice = "Switch it on, or choose another in the system's settings."
        return Finding("microphone", False, False, told, advice)
    return Finding("microphone", True, False, f"'{name}' at {level:.0f} dBFS")


def _disk(folder: Path) -> Finding:
    there = next(path for path in (folder.absolute(), *folder.absolute().parents) if path.exists())
    free_mb = shutil.disk_usage(there).free / 1e6
    told = f"{free_mb:,.0f} MB free at {there}"
    if free_mb < ROOM_MB:
        return Finding("disk", False, True, f"{told}.", f"A visit wants {ROOM_MB} MB: make room.")
    return Finding("disk", True, True, told)


def _clock() -> Finding:
    now = datetime.now().astimezone()
    told = now.isoformat(timespec="seconds")
    if now.year < EARLIEST_YEAR:
        return Finding("clock", False, False, f"{told} is wrong.", "Set the date of the machine.")
    return Finding("clock", True, False, told)
