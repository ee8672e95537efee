"""``python -m tests.bench memory``: the most memory that a process holds while it loads and hears.

A fresh process does the demonstration, from the recording to the CSV files, and reads its own peak.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
from pathlib import Path

import click

from dictation.console.terminal import bar
from dictation.errors import MissingError
from tests.bench import machine
from tests.bench.figures import show, table

MIB = 1 << 20
_WORK = {
    "loaded": "from dictation.recognition.engines import load_engine; load_engine('guided')",
    "heard the demonstration": (
        "from dictation.cli.app import run; assert run(['demo', '--json', '--out', OUT]) == 0"
    ),
}
_CHILD = """
import contextlib, io
OUT = {out!r}
with contextlib.redirect_stdout(io.StringIO()):
    {work}
from tests.bench.memory import peak_mib
print(peak_mib())
"""


def peak_mib() -> float:
    """The most memory that this process has held so far, in MiB."""
    status = Path("/proc/self/status")
    if status.is_file():
        # Not getrusage: on Linux that remembers the process that started this one.
        lines = status.read_text(encoding="ascii", errors="replace").splitlines()
        return next(int(li.split()[1]) for li in lines if li.startswith("VmHWM")) / 1024
    if sys.platform == "win32":
        import psutil

        return float(psutil.Process().memory_info().peak_wset) / MIB
    import resource

    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / MIB


def peak_after_mib(work: str) -> float:
    """Peak of a fresh process that did one of the pieces of work. Raises MissingError."""
    with tempfile.TemporaryDirectory() as folder:
        script = _CHILD.format(out=str(Path(folder) / "visit"), work=_WORK[work])
        done = subprocess.run(
            [sys.executable, "-c", script], check=False, capture_output=True, text=True
        )
    if done.returncode != 0:
        raise MissingError(f"Could not be measured here ({work}): {done.stderr.strip()[-200:]}")
    return float(done.stdout.split()[-1])


@click.command(epilog="Example: python -m tests.bench memory")
def command() -> None:
    """Measure the peak memory of loading, and of hearing the demonstration."""
    shown = table(f"Peak memory of a process\n{machine.head()}", ("once it has", "MiB"))
    with bar("hearing the demonstration"):
        for work in _WORK:
            shown.add_row(work, f"{peak_after_mib(work):.0f}")
    show(shown)
