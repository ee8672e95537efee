"""After a fault, what is told is true and leads on; nothing is lost or doubled."""

from __future__ import annotations

import os
import sys
from pathlib import Path

import pytest

from tests.live.faults import FAULTS, PHRASES, tried

LONG = bool(os.environ.get("HORNSWEEP_LONG"))
SOME = ("disk of 200 kB", "5 inodes", "7 inodes", "folder moved", "closed pipe", "SIGKILL")
MOUNTED = ("disk", "inodes")


@pytest.mark.skipif(sys.platform == "win32", reason="no such faults on Windows")
@pytest.mark.parametrize("fault", FAULTS if LONG else SOME)
def test_what_is_told_leads_on_and_nothing_is_lost_or_doubled(fault: str, tmp_path: Path) -> None:
    if any(word in fault for word in MOUNTED) and os.geteuid() != 0:
        pytest.skip("only root may mount")
    outcome = tried(fault, tmp_path)
    assert (outcome.lost, outcome.doubled, outcome.wrong_advice) == (0, 0, False), outcome.told
    assert outcome.taken <= PHRASES
    assert len(outcome.told.strip().splitlines()) <= 2, outcome.told
