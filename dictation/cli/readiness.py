"""What a visit needs of the machine, looked at one by one."""

from __future__ import annotations

import shutil
import time
from collections.abc import Callable
from dataclasses import asdict, dataclass
from datetime import datetime
from pathlib import Path

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

    def record(self) -> dict[str, object]:
        """As JSON."""
        return asdict(self)


def look(folder: Path) -> tuple[Finding, ...]:
    """Model, microphone, disk and clock, in that order."""
    looks: tuple[Callable[[], Finding], ...] = (
        _model,
        _microphone,
        lambda: _disk(folder),
        _clock,
    )
    return tuple(each() for each in looks)


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
        return Finding(
            "microphone",
            False,
            False,
            f"'{name}' is silent ({level:.0f} dBFS).",
            "Switch it on, or choose another in the system's settings.",
        )
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
