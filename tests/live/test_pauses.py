"""Phrases that pause in the middle, cut from the demonstration and heard by the built-in engine."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import numpy as np
import pytest
import soundfile as sf

from dictation.audio.endpoint import Endpointer, Utterance
from dictation.audio.samples import SAMPLE_RATE_HZ, Samples
from dictation.audio.spool import Spool
from dictation.cli.demo import IN_SOURCE as FIXTURES
from dictation.live.after_a_crash import hear_the_rest
from dictation.live.joining import Joiner
from dictation.live.session import Session
from dictation.recognition.engines import load_engine
from dictation.recognition.protocol import Recogniser
from dictation.visit.facts import Listened
from dictation.visit.inputs import Noted
from dictation.visit.journal import Journal
from dictation.visit.parts import Fate
from dictation.visit.state import Visit
from grammar.findings import Command, Finding
from grammar.parse import parse

DAY = date(2026, 11, 18)
PAUSE_S = 0.6

NEXT_COW = ((24.3, 25.4), (26.65, 27.8))
RIGHT_OVARY = ((21.2, 22.67), (22.67, 23.85))
"""Where the recording says 'next cow' and 'four one two', 'right ovary CL' and 'twenty four'."""


@pytest.fixture(scope="module")
def engine() -> Recogniser:
    return load_engine("guided")


def silence(seconds: float, chance: np.random.Generator) -> Samples:
    return (1e-4 * chance.standard_normal(int(seconds * SAMPLE_RATE_HZ))).astype(np.float32)


def with_pauses(cuts: tuple[tuple[float, float], ...]) -> Samples:
    path = FIXTURES / "demo_visit.flac"
    chance = np.random.default_rng(1)
    parts = [silence(0.5, chance)]
    for from_s, until_s in cuts:
        start, stop = int(from_s * SAMPLE_RATE_HZ), int(until_s * SAMPLE_RATE_HZ)
        parts.append(sf.read(path, start=start, stop=stop, dtype="float32")[0])
        parts.append(silence(PAUSE_S, chance))
    return np.concatenate([*parts, silence(1.0, chance)])


def visit_of(folder: Path, engine: Recogniser, cuts: tuple[tuple[float, float], ...]) -> Visit:
    with Journal.write(folder) as journal:
        session = Session(journal, parse, engine)
        session.begin(DAY, DAY)
        joiner = Joiner(session, parse)
        endpointer = Endpointer()
        for event in (*endpointer.push(with_pauses(cuts)), *endpointer.flush()):
            if isinstance(event, Utterance):
                session.hear(event)
                joiner.heard(event)
        return session.visit


@pytest.mark.parametrize("cut", [True, False])
def test_a_phrase_cut_in_two_by_a_crash_is_joined(
    engine: Recogniser, tmp_path: Path, cut: bool
) -> None:
    sound = with_pauses(RIGHT_OVARY)
    spool = Spool(tmp_path, 0.0)
    spool.write(sound)
    spool.close()
    with Journal.write(tmp_path) as journal:
        session = Session(journal, parse, engine)
        session.begin(DAY, DAY)
        if cut:  # the first part was heard before the crash
            endpointer = Endpointer()
            found = (e for e in endpointer.push(sound) if isinstance(e, Utterance))
            session.hear(next(found))
            session.take(Noted(Listened(session.visit.audio_until_s)))
    with Journal.write(tmp_path) as journal:
        session = Session(journal, parse, engine)
        hear_the_rest(session, parse)
        phrases = session.visit.phrases
    assert [p.fate is Fate.JOINED for p in phrases] == [True, True, False]
    assert values(phrases[-1].text) == values("right ovary cl twenty four")


def values(words: str) -> list[Finding | Command]:
    return [said.what for said in parse(words, DAY).said]


@pytest.mark.parametrize(
    ("cuts", "words", "fates"),
    [
        (NEXT_COW, "next cow four one two", {Fate.COMMAND, Fate.ASKED}),
        (RIGHT_OVARY, "right ovary cl twenty four", {Fate.RECORDED}),
    ],
)
def test_a_pause_in_mid_phrase_is_joined(
    engine: Recogniser,
    tmp_path: Path,
    cuts: tuple[tuple[float, float], ...],
    words: str,
    fates: set[Fate],
) -> None:
    phrases = visit_of(tmp_path, engine, cuts).phrases
    assert [p.fate is Fate.JOINED for p in phrases] == [True, True, False]
    assert phrases[-1].fate in fates  # a tag is asked about where 'next cow' alone is near
    assert values(phrases[-1].text) == values(words)
