"""Minutes of sound through the live path in seconds: the soak, short."""

from __future__ import annotations

import os
from pathlib import Path

import numpy as np
import pytest

from dictation.audio.samples import SAMPLE_RATE_HZ
from dictation.audio.spool import Spool
from dictation.audio.voice_activity import BLOCK_SAMPLES
from tests.bench.long_sound import LongSound, shipped_visit
from tests.bench.soak import Soaked, judge, off_its_place, soaked

VISIT_S = 28.5
HOURS = 0.08
"""Three rounds and a part."""


@pytest.mark.skipif(os.environ.get("HORNSWEEP_LONG") != "1", reason="long: HORNSWEEP_LONG=1")
def test_times_hold_and_nothing_is_left_open(tmp_path: Path) -> None:
    done = soaked(HOURS, 0.25, tmp_path, visit_s=VISIT_S)
    assert done.found == done.spoken >= 20
    assert done.heard < done.spoken
    assert done.drift_s < 0.05
    assert done.disk_off == 0
    assert max(h.handles for h in done.warm) <= done.warm[0].handles
    assert max(h.threads for h in done.warm) <= done.warm[0].threads
    assert done.after.handles < done.warm[0].handles
    assert done.exams >= 4


@pytest.mark.parametrize("drift_s", [0.0, 0.06])
def test_a_drift_is_seen(drift_s: float) -> None:
    begins_s, round_s = (1.0, 4.0, 9.0), 100.0
    done = Soaked(500.0)
    for number in range(5):
        late_s = drift_s * number / 4
        done.begins_s += [number * round_s + begin_s + late_s for begin_s in begins_s]
    judge(done, begins_s, round_s)
    assert done.found == done.spoken == 15
    assert done.drift_s == pytest.approx(drift_s)


def test_a_block_that_is_missing_on_the_disk_is_seen(tmp_path: Path) -> None:
    visit, _ = shipped_visit(VISIT_S)
    source = LongSound(visit, 1200 * BLOCK_SAMPLES, lambda: False)
    spool = Spool(tmp_path, 0.0)
    for number, block in enumerate(source.blocks()):
        if number != 400:
            spool.write(block)
    spool.write(np.zeros(BLOCK_SAMPLES, np.float32))
    spool.close()
    assert off_its_place(tmp_path, source) == BLOCK_SAMPLES


def test_rounds_follow_each_other_without_a_seam() -> None:
    visit, begins_s = shipped_visit(VISIT_S)
    source = LongSound(visit, 3600 * BLOCK_SAMPLES, lambda: False)
    whole = np.concatenate(list(source.blocks()))
    second = round(source.round_s * SAMPLE_RATE_HZ)
    assert np.array_equal(whole[second : second + len(visit)], visit)
    assert np.array_equal(source.between(second, len(visit)), visit)
    assert 0.0 < begins_s[0] < begins_s[-1] < VISIT_S
