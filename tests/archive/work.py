"""Work on a visit that takes a while and can be followed: a file for each time it begins."""

from __future__ import annotations

import os
import time
import uuid
from pathlib import Path

from dictation.visit.journal_state import journal_state

SLOW_S = 0.4


def slow_count(folder: str, engine: str) -> int:
    """Events of a journal; leaves a mark with this process's number when it begins."""
    marks = Path(engine)
    (marks / f"{os.getpid()}-{Path(folder).name}-{uuid.uuid4().hex[:6]}").touch()
    time.sleep(SLOW_S)
    return journal_state(Path(folder)).last_seq
