"""Steps of a work that may be stopped: each is done once, and its result stays."""

from __future__ import annotations

import shutil
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

Tell = Callable[[str], None]


@dataclass(frozen=True, slots=True)
class Step:
    """``result``: a file or folder that is there, whole, once the step is done. ``make`` writes it
    to the path that it is given."""

    name: str
    result: Path
    make: Callable[[Path], None]


def perform(steps: Sequence[Step], tell: Tell) -> None:
    """Do in order what has no result yet. A step that fails leaves none, and ends the work."""
    for step in steps:
        if step.result.exists():
            tell(f"{step.name}: there already.")
            continue
        tell(f"{step.name} ...")
        begun = time.monotonic()
        part = step.result.with_name(f"{step.result.name}.part")
        _clear(part)
        step.make(part)
        part.replace(step.result)
        tell(f"{step.name}: done in {time.monotonic() - begun:.0f} s.")


def _clear(path: Path) -> None:
    """What a step that was stopped had written so far."""
    if path.is_dir():
        shutil.rmtree(path)
    path.unlink(missing_ok=True)
