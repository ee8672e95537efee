"""On what a figure was measured, for the head of a table."""

from __future__ import annotations

import hashlib
import platform
from datetime import date
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

from dictation.cli.bench import machine as this_machine

DECIDING = (
    "grammar",
    "dictation/recognition",
    "dictation/visit",
    "dictation/decide",
    "dictation/archive",
    "tests/bench",
)
"""Folders that decide what is heard, stored and judged."""


def program() -> str:
    """A digest of all that decides what is heard and stored: results of another do not mix."""
    root = Path(__file__).resolve().parents[2]
    sha = hashlib.sha256()
    for folder in DECIDING:
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
    return f"{date.today().isoformat()}, {this_machine()}\n{versions()}"
