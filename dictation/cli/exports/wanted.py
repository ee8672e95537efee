"""What a format is given to write from."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import tzinfo
from pathlib import Path

from dictation.decide.record import Flags
from dictation.visit.state import Visit


@dataclass(frozen=True, slots=True)
class Wanted:
    """A visit, where its files go, and what the options said of the sender."""

    folder: Path
    out: Path
    visit: Visit
    flags: Flags
    herd_id: str | None = None
    source: str | None = None
    vet: str | None = None
    zone: tzinfo | None = None
    location: tuple[str, str] | None = None
