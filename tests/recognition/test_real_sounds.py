"""Real animals and real people who say words that are not ours: nothing of it is stored.

The recordings are none of the project's: where HORNSWEEP_RECORDINGS names no folder of them these
tests are skipped. ``python -m tests.bench people`` hears all of them.
"""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from dictation.recognition.guided import GuidedRecogniser
from tests.bench.judging import judged
from tests.bench.people import sounds_of
from tests.bench.real_people import ANIMAL, FOREIGN_WORD, NOISE, TALK
from tests.bench.real_recordings import FOLDER_VARIABLE
from tests.bench.voices import Split

FOLDER = os.environ.get(FOLDER_VARIABLE)
A_HANDFUL = 4

pytestmark = pytest.mark.skipif(
    not FOLDER,
    reason=f"real animals and foreign words: {FOLDER_VARIABLE} names no folder of recordings",
)


@pytest.mark.parametrize("kind", [ANIMAL, NOISE, FOREIGN_WORD, TALK])
def test_real_sound_that_is_not_for_us_is_not_stored(exams: GuidedRecogniser, kind: str) -> None:
    for sound in sounds_of(Path(FOLDER or ""), Split.HELD_OUT, [kind], A_HANDFUL):
        samples = sound.samples()
        heard = exams.recognise(samples)
        best = heard.hypotheses[0].normal if heard.hypotheses else ""
        taken = judged(heard, "guided", samples, None)
        assert not taken.stored, f"{sound.voice}, {sound.condition}: stored as '{best}'"
