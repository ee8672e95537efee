"""On what a figure was measured, for the head of a table."""

from __future__ import annotations

import hashlib
import os
import platform
from datetime import date
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path


def processor() -> str:
    """The processor's own name, with its cores."""
    name = platform.processor() or platform.machine()
    info = Path("/proc/cpuinfo")
    if info.is_file():
        lines = info.read_text(encoding="utf-8", errors="replace").splitlines()
        name = next(
            (li.split(":", 1)[1].strip() for li in lines if li.startswith("model na")), name
        )
    return f"{name}, {os.cpu_count()} cores"


def load() -> str:
    """How busy the machine is: processes waiting or running, mean over the last minute."""
    if not hasattr(os, "getloadavg"):
        return "load unknown"
    return f"load {os.getloadavg()[0]:.1f}"


def program() -> str:
    """A digest of all that decides what is heard and stored: results of another do not mix."""
    root = Path(__file__).resolve().parents[2]
    sha = hashlib.sha256()
    for folder in ("grammar", "dictation/recognition", "dictation/session", "tests/bench"):
        for path in sorted((root / folder).rglob("*")):
            heard_by = path.suffix in {".py", ".lark", ".toml"}
            if heard_by and not path.name.startswith("test_"):
                sha.update(path.read_bytes())
    return sha.hexdigest()[:12]


def versions() -> str:
    """Versions of what does the work."""
    names = ("hornsweep", "moonshine-voice", "onnxruntime", "pocketsphinx")
    known = [f"{name} {_version(name)}" for name in names]
    return f"Python {platform.python_version()}, {', '.join(known)}"


def _version(package: str) -> str:
    try:
        return version(package)
    except PackageNotFoundError:
        return "(not installed)"


def head() -> str:
    """Date, machine and versions, for the title of a table."""
    return f"{date.today().isoformat()}, {processor()}, {load()}\n{versions()}"
