"""``hornsweep ready``: is everything there that a visit needs, and if not, how to get it."""

from __future__ import annotations

import json
import shutil
import sys
import time
from dataclasses import asdict, dataclass
from datetime import datetime
from pathlib import Path

import click
import numpy as np

from dictation.audio.devices import port_audio, sound_errors
from dictation.errors import HornsweepError
from dictation.recognition.engines import load_engine
from dictation.records.farms import farm_named
from dictation.records.herd_list import read_herd_list

ROOM_MB = 500
"""Room for about four hours of utterances as FLAC (1.1 MB a minute) and the journal."""

TOO_QUIET_DBFS = -70.0
"""Below this a microphone is switched off or the wrong one: a quiet room gives more."""

LISTEN_S = 0.5

EARLIEST_YEAR = 2024
"""A clock before this has not been set."""


# By system, as sys.platform calls it; those beside Linux are untested.
MICROPHONE = {
    "linux": "Plug one in; if there is one, type: sudo apt-get install libportaudio2, and choose it"
    " in the system's sound settings.",
    "darwin": "Plug one in, and allow it to the terminal: System Settings, Privacy & Security,"
    " Microphone.",
    "win32": "Plug one in, and allow it: Settings, Privacy & security, Microphone, Let desktop apps"
    " access your microphone.",
}
VOICE = {
    "linux": "Type: sudo apt-get install espeak-ng.",
    "darwin": "Type: brew install espeak-ng.",
    "win32": "Type: winget install eSpeak-NG.eSpeak-NG.",
}
PANGO = {
    "linux": "Type: sudo apt-get install libpango-1.0-0 libpangoft2-1.0-0 libharfbuzz-subset0.",
    "darwin": "Type: brew install pango.",
    "win32": "Install MSYS2, and in it type: pacman -S mingw-w64-x86_64-pango.",
}


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
@click.option("--farm", "name", help="A farm of 'hornsweep farm': its herd list and its visits.")
@click.option("--json", "as_json", is_flag=True, help="One JSON array.")
def command(out: Path, name: str | None, as_json: bool) -> int:
    """Look for the model, the microphone and its level, room on the disk, the clock, a voice for
    answers, and what makes PDFs; of what is missing, say what to type on this system.

    Exits with 4 where something is missing without which no recording can be heard.
    """
    farm = None if name is None else farm_named(name)
    found = (
        _model(),
        _microphone(),
        _disk(out if farm is None else farm.visits),
        _clock(),
        _voice(),
        _pdf(),
        *(() if farm is None or farm.herd is None else (_herd(farm.herd),)),
    )
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
    advice = f"{_on_this_system(MICROPHONE)} Recordings can be heard without one."
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


def _voice() -> Finding:
    if shutil.which("espeak-ng") is None:
        told, advice = "espeak-ng is not installed.", _on_this_system(VOICE)
        return Finding("voice", False, False, told, f"{advice} Without it nothing is said aloud.")
    return Finding("voice", True, False, "espeak-ng, for answers aloud")


def _pdf() -> Finding:
    try:
        import weasyprint  # noqa: F401 - whether it can be loaded
    except ModuleNotFoundError:
        told, advice = "the extra is not installed.", "Type: pip install 'hornsweep[pdf]'."
    except OSError:
        told, advice = "the library Pango is not installed.", _on_this_system(PANGO)
    else:
        return Finding("PDF", True, False, "lists are written as PDF too")
    return Finding("PDF", False, False, told, f"{advice} A browser prints the lists without it.")


def _herd(path: Path) -> Finding:
    try:
        animals = read_herd_list(path).animals
    except HornsweepError as error:
        return Finding("herd list", False, False, str(error))
    return Finding("herd list", True, False, f"{len(animals)} animals in {path}")


def _on_this_system(advice: dict[str, str]) -> str:
    return advice.get(sys.platform, advice["linux"])


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
