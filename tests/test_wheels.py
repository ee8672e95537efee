"""Every pinned distribution of the product can be installed on Windows and on macOS.

An index is asked, so this is one of the long tests: ``HORNSWEEP_LONG=1``. srt, which vosk needs,
has no wheel for any system; it is Python alone and is built where it is installed.
"""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest
from packaging.requirements import Requirement

CONSTRAINTS = Path(__file__).parent.parent / ".ci" / "constraints.txt"
BUILT_ANYWHERE = {"srt"}
SYSTEMS = {
    "win32": ("win_amd64",),
    "darwin": tuple(
        f"macosx_{version}_{kind}"
        for version in ("10_9", "11_0", "12_0", "13_0", "14_0", "15_0")
        for kind in ("arm64", "universal2")
    ),
}


def pins(system: str) -> list[str]:
    lines = CONSTRAINTS.read_text(encoding="utf-8").splitlines()
    wanted = [Requirement(line) for line in lines if line and not line.startswith("#")]
    there = (r for r in wanted if r.marker is None or r.marker.evaluate({"sys_platform": system}))
    return [f"{r.name}{r.specifier}" for r in there if r.name not in BUILT_ANYWHERE]


def test_every_pin_is_one_version_on_each_system() -> None:
    for system in (*SYSTEMS, "linux"):
        names = [pin.split("==")[0] for pin in pins(system)]
        assert len(names) == len(set(names))


@pytest.mark.parametrize("system", SYSTEMS)
def test_every_pinned_distribution_has_a_wheel(system: str, tmp_path: Path) -> None:
    if os.environ.get("HORNSWEEP_LONG") != "1":
        pytest.skip("an index would be asked: HORNSWEEP_LONG=1 does")
    options = ["--dry-run", "--no-deps", "--only-binary=:all:", "--target", str(tmp_path)]
    tags = [f"--platform={tag}" for tag in SYSTEMS[system]]
    command = [sys.executable, "-m", "pip", "install", *options, *tags, *pins(system)]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
