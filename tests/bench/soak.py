"""``python -m tests.bench soak``: hours of sound through the live path, faster than real time.

Ear, spool, end-pointing, journal, joining, the sweep's guide and the checks take all of it. The
recogniser hears every phrase of the first round and a share of the later ones; for the others the
first hearing is recorded again. What must not happen: memory that grows, a handle or a thread
that stays, times that drift.
"""

from __future__ import annotations

import gc
import math
import queue
import tempfile
import threading
import time
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

import click
import numpy as np
import psutil

from dictation.audio.ear import Ear, EarEvent
from dictation.audio.endpoint import PRE_ROLL_S, Utterance
from dictation.audio.samples import SAMPLE_RATE_HZ, Samples
from dictation.audio.spool import Spool, sound_between
from dictation.audio.voice_activity import BLOCK_SAMPLES
from dictation.console.terminal import Bar, bar
from dictation.decide.understanding import Understanding
from dictation.live.guide import Guide
from dictation.live.listening import Listening
from dictation.live.session import Session
from dictation.recognition.engines import load_engine
from dictation.recognition.protocol import Heard, Recogniser
from dictation.visit.journal import Journal
from grammar.parse import parse
from tests.bench import machine
from tests.bench.figures import show, table
from tests.bench.judging import DAY
from tests.bench.long_sound import LongSound, shipped_visit

HOURS = 8.0
SHARE = 0.25
WAITING = 4
"""Utterances that may wait before the sound is held up, as real time would hold it up."""

WARM_UP = 0.2
"""Share of the time in which memory, handles and threads may still grow."""

SAME_S = 0.5
"""An utterance begins with the phrase whose place is nearest, within so much."""

COMPARED = 32
"""Places at which the sound on the disk is compared with what was given."""


class Sparing:
    """Hears a share of what it is given, and repeats the first round's hearing for the others."""

    def __init__(self, inner: Recogniser, share: float, round_s: float) -> None:
        self._inner = inner
        self._every = round(1 / share)
        self._round_s = round_s
        self._places: dict[int, float] = {}
        self._known: list[tuple[float, Heard]] = []
        self.asked = self.heard = 0

    @property
    def name(self) -> str:
        """Name of the one inside."""
        return self._inner.name

    def coming(self, sound: Utterance) -> None:
        """An utterance that will be heard, from another thread."""
        self._places[hash(sound.samples.tobytes())] = sound.at_s

    def recognise(self, samples: Samples) -> Heard:
        """Hear it, or say again what was heard at its place."""
        at_s = self._places.pop(hash(samples.tobytes()), None)
        self.asked += 1
        if at_s is not None and at_s > self._round_s and self.asked % self._every:
            place_s = at_s % self._round_s
            nearest = min(self._known, key=lambda known: abs(known[0] - place_s))
            if abs(nearest[0] - place_s) < SAME_S:
                return nearest[1]
        self.heard += 1
        heard = self._inner.recognise(samples)
        if at_s is not None and at_s <= self._round_s:
            self._known.append((at_s, heard))
        return heard


@dataclass(frozen=True, slots=True)
class Held:
    """What the process held at a moment of the sound."""

    at_s: float
    memory_mib: float
    handles: int
    threads: int


@dataclass(slots=True)
class Soaked:
    """Of one soak. ``begins_s``: where the utterances begin; ``after``: once all was closed."""

    sound_s: float
    wall_s: float = 0.0
    held: list[Held] = field(default_factory=list)
    begins_s: list[float] = field(default_factory=list)
    drift_s: float = 0.0
    found: int = 0
    spoken: int = 0
    disk_off: int = 0
    heard: int = 0
    exams: int = 0
    before: Held = Held(0.0, 0.0, 0, 0)
    after: Held = Held(0.0, 0.0, 0, 0)

    @property
    def warm(self) -> list[Held]:
        """What was held after the warm-up."""
        return [h for h in self.held if h.at_s >= WARM_UP * self.sound_s]

    @property
    def memory_off(self) -> float:
        """The largest departure of memory from what it was after the warm-up, as a share."""
        first = self.warm[0].memory_mib
        return max((h.memory_mib - first for h in self.warm), key=abs) / first


@click.command(epilog="Example: python -m tests.bench soak --hours 1")
@click.option("--hours", type=click.FloatRange(0.05), default=HOURS, show_default=True)
@click.option(
    "--share",
    type=click.FloatRange(0.01, 1.0),
    default=SHARE,
    show_default=True,
    help="Share of the phrases that is heard by the recogniser after the first round.",
)
def command(hours: float, share: float) -> None:
    """Hours of sound through the live path: memory, handles, threads and times must hold."""
    with bar("soaking") as progress, tempfile.TemporaryDirectory(prefix="soak.") as folder:
        done = soaked(hours, share, Path(folder), progress)
    title = f"Soak, {hours:g} h of sound in {done.wall_s / 60:.0f} min\n{machine.head()}"
    shown = table(title, ("after h", "memory MiB", "handles", "threads"))
    for held in (*done.held[:: max(1, len(done.held) // 10)], done.held[-1], done.after):
        row = (f"{held.memory_mib:.1f}", str(held.handles), str(held.threads))
        shown.add_row("closed" if held is done.after else f"{held.at_s / 3600:.2f}", *row)
    show(shown)
    click.echo(
        f"{done.exams} animals, {len(done.begins_s)} utterances, {done.heard} of them heard by the "
        f"recogniser; {done.found} of {done.spoken} phrases found at their place.\n"
        f"Memory after warm-up: at most {100 * done.memory_off:+.1f} %. Handles "
        f"{_grown(done, 'handles'):+d}, threads {_grown(done, 'threads'):+d}.\n"
        f"Drift of time stamps: {1000 * done.drift_s:.1f} ms. Sound on disk: "
        f"{done.disk_off} samples off its place."
    )


def soaked(
    hours: float,
    share: float,
    folder: Path,
    progress: Bar | None = None,
    visit_s: float = math.inf,
) -> Soaked:
    """Soak the live path, in a folder for its visit, with so much of the shipped visit a round."""
    visit, begins_s = shipped_visit(visit_s)
    whole = round(hours * 3600 * SAMPLE_RATE_HZ / BLOCK_SAMPLES) * BLOCK_SAMPLES
    done = Soaked(whole / SAMPLE_RATE_HZ)
    found: queue.SimpleQueue[EarEvent] = queue.SimpleQueue()
    source = LongSound(visit, whole, lambda: found.qsize() > WAITING)
    recogniser = Sparing(load_engine("guided"), share, source.round_s)
    done.before = _held(0.0)

    def told(event: EarEvent) -> None:
        if isinstance(event, Utterance):
            recogniser.coming(event)
            done.begins_s.append(event.at_s + PRE_ROLL_S)
        found.put(event)

    began = time.monotonic()
    with Journal.write(folder) as journal:
        understanding = Understanding(parse, lambda: session.visit)
        session = Session(journal, understanding, recogniser)
        session.begin(DAY, DAY)
        ear = Ear(source, Spool(folder, 0.0), told)
        desk = Listening(session, ear, found, understanding, Guide(session, understanding))
        ear.thread.start()
        _run(desk, ear, done, progress)
        ear.thread.join()
        done.exams = len(session.visit.exams)
    done.wall_s = time.monotonic() - began
    done.after = _held(done.sound_s)
    done.heard = recogniser.heard
    judge(done, begins_s, source.round_s)
    done.disk_off = off_its_place(folder, source)
    return done


def _run(desk: Listening, ear: Ear, done: Soaked, progress: Bar | None) -> None:
    step_s = done.sound_s / 100
    while not desk.over:
        desk.turn(0.02)
        if ear.at_s >= len(done.held) * step_s and not desk.over:
            done.held.append(_held(ear.at_s))
            if progress is not None:
                progress.show(ear.at_s, done.sound_s)
    desk.finish()


def _held(at_s: float) -> Held:
    gc.collect()
    process = psutil.Process()
    memory_mib = process.memory_info().rss / (1 << 20)
    handles = process.num_handles() if hasattr(process, "num_handles") else process.num_fds()
    return Held(at_s, memory_mib, handles, threading.active_count())


def _grown(done: Soaked, what: str) -> int:
    """The most of it after the warm-up, against what it was then."""
    return int(max(getattr(h, what) for h in done.warm) - getattr(done.warm[0], what))


def judge(done: Soaked, begins_s: Sequence[float], round_s: float) -> None:
    """Find each phrase at its place; how far the later rounds are from the first."""
    heard = np.asarray(done.begins_s)
    middles: list[float] = []
    for number in range(int(np.ceil(done.sound_s / round_s))):
        places = number * round_s + np.asarray(begins_s)
        places = places[places < done.sound_s - 5.0]
        if not len(places):
            break
        apart = heard[:, np.newaxis] - places
        nearest = apart[np.abs(apart).argmin(axis=0), np.arange(len(places))]
        close = nearest[np.abs(nearest) < SAME_S]
        done.spoken += len(places)
        done.found += len(close)
        middles.append(float(np.median(close)))
    # A round that the end cuts short has other phrases: only whole ones are compared.
    whole = middles[: max(1, int(done.sound_s / round_s))]
    done.drift_s = max(abs(middle - whole[0]) for middle in whole)


def off_its_place(folder: Path, source: LongSound) -> int:
    """The most samples that the sound on the disk lies off its place."""
    worst = 0
    count = BLOCK_SAMPLES * 32
    last = source.samples - count
    for place in np.linspace(0, last, COMPARED).astype(int):
        first = int(place) // BLOCK_SAMPLES * BLOCK_SAMPLES
        given = source.between(first, count)
        from_s = first / SAMPLE_RATE_HZ
        kept = sound_between(folder, from_s, from_s + count / SAMPLE_RATE_HZ)
        if len(kept) == count and np.allclose(kept, given, atol=1.01 / 32768):
            continue
        match = np.correlate(np.pad(kept, 8000)[: count + 16_000], given, mode="valid")
        worst = max(worst, abs(int(np.argmax(match)) - 8000) or BLOCK_SAMPLES)
    return worst
