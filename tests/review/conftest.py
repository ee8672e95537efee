"""Visits for the page: one heard by the real recogniser, one made of hostile words."""

from __future__ import annotations

import shutil
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
import soundfile as sf

from dictation.cli.app import run
from dictation.cli.demo import demonstration

HEARD_S = 44
"""Seconds of the demonstration that are heard: two animals, questions and refused speech."""


@pytest.fixture(scope="session")
def heard(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A visit as the recogniser heard it. To be read only; ``visit`` is a copy to change."""
    shipped = demonstration()
    assert shipped is not None
    folder = tmp_path_factory.mktemp("heard")
    samples, rate_hz = sf.read(shipped.recording)
    cut = folder / "morning.flac"
    sf.write(cut, samples[: HEARD_S * rate_hz], rate_hz)
    out = folder / "visit"
    words = ["replay", str(cut), "--herd", str(shipped.herd), "--out", str(out)]
    assert run([*words, "--date", shipped.on.isoformat()]) == 0
    return out


@pytest.fixture
def visit(heard: Path, tmp_path: Path) -> Path:
    folder = tmp_path / "visit"
    shutil.copytree(heard, folder)
    return folder


@contextmanager
def reviewing(folder: Path, *options: str, told: list[str] | None = None) -> Iterator[str]:
    """``hornsweep review`` as a process of its own; its address. ``told``: on standard error."""
    command = [sys.executable, "-m", "dictation", "review", str(folder), "--no-browser", *options]
    process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    try:
        assert process.stdout is not None
        address = process.stdout.readline().strip()
        assert address, process.communicate()[1]
        yield address
    finally:
        process.terminate()
        rest, errors = process.communicate()
        if told is not None:
            told.append(errors)
        assert rest == "", "the address is the only line on standard output"
