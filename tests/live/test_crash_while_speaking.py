"""The program ends while the tool speaks: its own words are not heard at the next start."""

from __future__ import annotations

import shutil
from datetime import date
from pathlib import Path

import numpy as np
import pytest
import soundfile as sf
import soxr

from dictation.audio.samples import SAMPLE_RATE_HZ, Samples
from dictation.audio.spool import Spool
from dictation.audio.voice import Synthesiser
from dictation.cli.demo import IN_SOURCE as FIXTURES
from dictation.live.after_a_crash import hear_the_rest
from dictation.live.session import Session
from dictation.recognition.engines import load_engine
from dictation.visit.facts import Spoke
from dictation.visit.inputs import Noted
from dictation.visit.journal import Journal
from grammar.parse import parse
from tests.live.program import spelt

pytestmark = pytest.mark.skipif(shutil.which("espeak-ng") is None, reason="no espeak-ng")

DAY = date(2026, 11, 18)
QUESTION = "left ovary corpus luteum ninety nine millimetres?"


def right_ovary() -> Samples:
    """'Right ovary CL twenty four', from the demonstration."""
    path = FIXTURES / "demo_visit.flac"
    first, last = int(21.2 * SAMPLE_RATE_HZ), int(23.85 * SAMPLE_RATE_HZ)
    samples: Samples = sf.read(path, start=first, stop=last, dtype="float32")[0]
    return samples


@pytest.mark.parametrize("headset", [None, True])
def test_the_tools_own_words_are_not_heard_but_what_is_said_behind_them(
    tmp_path: Path, headset: bool | None
) -> None:
    own = soxr.resample(*_and_rate(Synthesiser().speak(QUESTION, 9.0)))
    voice = right_ovary()
    sound = np.random.default_rng(1).normal(0.0, 1e-4, len(own) + 5 * SAMPLE_RATE_HZ)
    if not headset:
        sound[800 : 800 + len(own)] += own
    at = 8000 if headset else len(own) + SAMPLE_RATE_HZ
    sound[at : at + len(voice)] += voice
    spool = Spool(tmp_path, 0.0)
    spool.write(sound.astype(np.float32))
    spool.close()
    with Journal.write(tmp_path) as journal:
        session = Session(journal, parse, load_engine("guided"))
        session.begin(DAY, DAY)
        session.take(Noted(Spoke(QUESTION, 0.0, len(own) / SAMPLE_RATE_HZ + 0.1, headset)))
        hear_the_rest(session, parse)
        heard = session.visit.phrases
    assert [spelt(u.text) for u in heard] == ["right ovary cl twenty four"]


def _and_rate(spoken: tuple[Samples, int]) -> tuple[Samples, int, int]:
    return (*spoken, SAMPLE_RATE_HZ)
