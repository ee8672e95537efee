"""A microphone that goes on where the last one broke off: bursts of tone, each with its number.

Run as a program it listens in the folder that it is given, until it is killed or the bursts are
over. What the recogniser hears in a burst is the animal of that number, so that a lost or a doubled
burst shows in the journal.
"""

from __future__ import annotations

import queue
import sys
import time
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import numpy as np

from dictation.audio.ear import Ear, EarEvent
from dictation.audio.endpoint import Endpointer
from dictation.audio.reading import Heed, ignore
from dictation.audio.samples import SAMPLE_RATE_HZ, Samples
from dictation.audio.spool import Spool, spooled
from dictation.decide.understanding import Understanding
from dictation.live.after_a_crash import go_on_from_s, hear_the_rest
from dictation.live.guide import Guide
from dictation.live.listening import Listening
from dictation.live.session import Session
from dictation.recognition.protocol import Heard, Hypothesis, Outcome
from dictation.visit.journal import Journal
from grammar.normalise import normalise
from grammar.parse import parse

BURSTS = 40
BURST_S = 0.6
PERIOD_S = 1.4
FIRST_HZ, STEP_HZ = 400.0, 50.0
FIRST_TAG = 101
SPEED = 8.0
"""Times as fast as real time."""


def tag_of(number: int) -> str:
    """The tag that a burst stands for."""
    return str(FIRST_TAG + number)


def first_of(number: int) -> int:
    """The first sample of a burst."""
    return int((number * PERIOD_S + 0.5) * SAMPLE_RATE_HZ)


def all_bursts() -> Samples:
    """The whole of what is said, silence between the bursts."""
    at_s = np.arange(int(BURST_S * SAMPLE_RATE_HZ)) / SAMPLE_RATE_HZ
    sound = np.zeros(int((BURSTS * PERIOD_S + 1.0) * SAMPLE_RATE_HZ), np.float32)
    for number in range(BURSTS):
        first = first_of(number)
        wave = 0.3 * np.sin(2 * np.pi * (FIRST_HZ + STEP_HZ * number) * at_s)
        sound[first : first + len(wave)] = wave
    return sound


def number_in(samples: Samples) -> int:
    """The number of the burst that is loudest in these samples."""
    spectrum = np.abs(np.fft.rfft(samples, SAMPLE_RATE_HZ))
    return round((int(spectrum[200:].argmax()) + 200 - FIRST_HZ) / STEP_HZ)


class Loudness:
    """Voice is what is loud."""

    def probability(self, block: Samples) -> float:
        """1 for a block with tone in it."""
        return 1.0 if float(np.abs(block).max()) > 0.05 else 0.0

    def reset(self) -> None:
        """There is nothing to forget."""


class Tags:
    """Hears each burst as its animal."""

    name = "tags"

    def recognise(self, samples: Samples) -> Heard:
        text = f"cow {tag_of(number_in(samples))} open"
        found = Hypothesis(text, normalise(text), (), 0.0, 1)
        return Heard(Outcome.HEARD, (found,), text, confidence=1.0)


class GoesOn:
    """Plays on from the first sample that is not on the disk yet."""

    def __init__(self, folder: Path) -> None:
        self._from = sum(len(samples) for _, samples in spooled(folder, 0.0))

    def blocks(self, heed: Heed = ignore) -> Iterator[Samples]:
        sound = all_bursts()
        for at in range(self._from, len(sound), 512):
            time.sleep(512 / SAMPLE_RATE_HZ / SPEED)
            yield sound[at : at + 512]


def endpointer() -> Endpointer:
    """One that judges by loudness."""
    return Endpointer(activity=Loudness())


def listen(folder: Path) -> None:
    """Listen to the end, going on with what is there."""
    with Journal.write(folder) as journal:
        understanding = Understanding(parse, lambda: session.visit)
        session = Session(journal, understanding, Tags())
        session.begin(None, date(2026, 11, 18))
        source = GoesOn(folder)
        hear_the_rest(session, understanding, endpointer)
        found: queue.SimpleQueue[EarEvent] = queue.SimpleQueue()
        spool = Spool(folder, go_on_from_s(session))
        ear = Ear(source, spool, found.put, endpointer=endpointer)
        desk = Listening(session, ear, found, understanding, Guide(session, understanding))
        ear.thread.start()
        while not desk.over:
            desk.turn(0.02)
        desk.finish()


if __name__ == "__main__":
    listen(Path(sys.argv[1]))
