"""Whether a Vosk model can be used at all, tried in a process of its own.

On a graph that was cut short the runtime ends the whole program when it first hears something, and
says nothing while loading. So each new model is loaded and given a little noise in a child process
first; that it came through is noted in the cache until a file of the model changes.
"""

from __future__ import annotations

import hashlib
import subprocess
import sys
from pathlib import Path

from platformdirs import user_cache_path

LONGEST_PROBE_S = 120.0
"""A large model takes half a minute to load from a slow disk."""

_PROBE = """
import sys, numpy, vosk
vosk.SetLogLevel(-1)
recogniser = vosk.KaldiRecognizer(vosk.Model(sys.argv[1]), 16000)
noise = numpy.random.default_rng(1).standard_normal(16000) * 3000
recogniser.AcceptWaveform(noise.astype("<i2").tobytes())
recogniser.FinalResult()
"""


def comes_through(folder: Path, cache: Path | None = None) -> bool:
    """Whether the model of a folder loads and hears without ending the process."""
    passed = (cache or user_cache_path("hornsweep") / "vosk") / _state(folder)
    if passed.is_file():
        return True
    try:
        done = subprocess.run(
            [sys.executable, "-c", _PROBE, str(folder)],
            capture_output=True,
            timeout=LONGEST_PROBE_S,
            check=False,
        )
    except (OSError, subprocess.TimeoutExpired):
        return False
    if done.returncode != 0:
        return False
    try:
        passed.parent.mkdir(parents=True, exist_ok=True)
        passed.touch()
    except OSError:
        pass  # tried again next time
    return True


def _state(folder: Path) -> str:
    """A name that changes with any file of the model."""
    files = sorted(path for path in folder.rglob("*") if path.is_file())
    told = "\n".join(
        f"{path.relative_to(folder)} {path.stat().st_size} {path.stat().st_mtime_ns}"
        for path in files
    )
    return hashlib.sha256(f"{folder.resolve()}\n{told}".encode()).hexdigest()[:32]
