"""Hearing has not fallen behind the recorded figures, beyond chance. Not timed.

Where a change made hearing better, or worse for a reason worth it, record anew::

    python -m tests.bench recognition --engine guided --record tests/bench/recorded.json
"""

from __future__ import annotations

import os

import pytest

from tests.bench.hearing import GUIDED, Hearing
from tests.bench.plan import plan
from tests.bench.recorded import compare, figures_of, read_recorded
from tests.bench.synthesis import ENGINES
from tests.bench.voices import Split

LEAST_COMPARED = 0.9
"""Share of the recorded sounds that must be heard again for the comparison to mean anything."""


@pytest.mark.skipif(os.environ.get("HORNSWEEP_LONG") != "1", reason="long: HORNSWEEP_LONG=1")
def test_values_right_have_not_fallen_and_silent_errors_have_not_risen() -> None:
    lacking = [name for name in ("flite", "espeak") if ENGINES[name].missing()]
    if lacking:
        pytest.skip(f"no {' and no '.join(lacking)} here to speak the small bench")
    recorded = read_recorded()
    hearing = Hearing((GUIDED,))
    sounds = plan("small", Split.TUNE)
    now = {sound.key: figures_of(hearing.row(sound), GUIDED) for sound in sounds}
    found = compare(recorded, now)
    assert found.compared >= LEAST_COMPARED * len(recorded), (
        "the small bench has other sounds than were recorded: record it anew"
    )
    assert found.failures() == (), " ".join(found.failures())
