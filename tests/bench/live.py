"""``python -m tests.bench live``: the live path in real time, without a screen.

A recording is played into it as a microphone would: end-pointing, hearing ahead, words while they
are spoken, joining, journal and sound on disk all run at once, as in ``hornsweep listen``.
"""

from __future__ import annotations

import queue
import tempfile
import threading
import time
from collections import deque
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path

import click

from dictation.audio.ear import Ear, EarEvent, Hints
from dictation.audio.endpoint import TAIL_S, Utterance
from dictation.audio.reading import Heed, ignore
from dictation.audio.recording import Recording, open_recording
from dictation.audio.samples import SAMPLE_RATE_HZ, Samples
from dictation.audio.spool import Spool
from dictation.cli.demo import IN_SOURCE as FIXTURES
from dictation.console.terminal import bar
from dictation.decide.understanding import Understanding
from dictation.live.events import Joint, Spoken
from dictation.live.guide import Guide
from dictation.live.listening import Listening
from dictation.live.loop import hear_ahead
from dictation.live.session import Session
from dictation.recognition.ahead import AheadRecogniser
from dictation.recognition.engines import load_engine
from dictation.recognition.glimpse import Glimpser, GlimpsingThread
from dictation.visit.journal import Journal
from grammar.constraint import constraint
from grammar.parse import parse
from tests.bench import machine
from tests.bench.figures import milliseconds, show, table
from tests.bench.judging import DAY

TURN_S = 0.01


class Paced:
    """A recording in real time."""

    def __init__(self, recording: Recording, seconds: float) -> None:
        self._recording = recording
        self._samples = int(seconds * SAMPLE_RATE_HZ)

    def blocks(self, heed: Heed = ignore) -> Iterator[Samples]:
        """Each block when its last sample would have been spoken."""
        began, given = time.perf_counter(), 0
        for block in self._recording.blocks(heed):
            given += len(block)
            if given > self._samples:
                break
            time.sleep(max(0.0, began + given / SAMPLE_RATE_HZ - time.perf_counter()))
            yield block


@dataclass(slots=True)
class Figures:
    """Of one run. From the end-point, and from the last voice, to findings on record, seconds.

    Hearing two parts of a phrase again as one comes later and is not counted. Times are told in
    blocks of 32 ms.
    """

    from_end_s: list[float] = field(default_factory=list)
    from_voice_s: list[float] = field(default_factory=list)
    glimpses: int = 0
    spoken_s: float = 0.0
    cpu_s: float = 0.0
    wall_s: float = 0.0
    joined: int = 0


@click.command(epilog="Example: python -m tests.bench live --seconds 60")
@click.option("--seconds", type=float, default=60.0, show_default=True, help="How much is played.")
@click.option("--file", "path", type=click.Path(path_type=Path), help="Another recording.")
def command(seconds: float, path: Path | None) -> None:
    """Play a recording in real time into the live path, and time its answers."""
    path = path or FIXTURES / "demo_visit.flac"
    found = measured(path, seconds)
    title = f"Live, {seconds:.0f} s of {path.name} in real time\n{machine.head()}"
    shown = table(title, ("from", "utterances", "p50 ms", "p95 ms", "max ms"))
    for name, times in (("end-point", found.from_end_s), ("last voice", found.from_voice_s)):
        shown.add_row(name, str(len(times)), *milliseconds(times))
    show(shown)
    rate = found.glimpses / max(found.spoken_s, 1e-9)
    click.echo(
        f"Words while speaking: {rate:.1f} a second. Processor: "
        f"{found.cpu_s / found.wall_s:.2f} of one core. Joined: {found.joined}."
    )


def measured(path: Path, seconds: float) -> Figures:
    """Run the live path over so much of a recording."""
    recording = open_recording(path)
    with bar("loading"):
        hearing = AheadRecogniser(load_engine("guided"))
        glimpser = Glimpser(constraint())
    figures = Figures()
    ends: deque[tuple[float, Utterance]] = deque()
    found: queue.SimpleQueue[EarEvent] = queue.SimpleQueue()

    def told(event: EarEvent) -> None:
        if isinstance(event, Utterance):
            ends.append((ear.at_s - event.until_s + TAIL_S, event))
        found.put(event)

    with tempfile.TemporaryDirectory() as folder, Journal.write(Path(folder)) as journal:
        understanding = Understanding(parse, lambda: session.visit)
        session = Session(journal, understanding, hearing)
        session.begin(DAY, DAY)
        hints = Hints(ahead=partial(hear_ahead, hearing, understanding, DAY))
        spool = Spool(Path(folder), 0.0)
        ear = Ear(Paced(recording, seconds), spool, told, hints)
        desk = Listening(session, ear, found, understanding, Guide(session, understanding))
        glimpsing = GlimpsingThread(glimpser.glimpse, desk.glimpsed, hearing.busy)
        hints.glimpse = glimpsing.offer
        _run(desk, ear.thread, ends, figures)
        glimpsing.stop()
        figures.glimpses = glimpsing.count
    hearing.close()
    return figures


def _run(
    desk: Listening,
    ear: threading.Thread,
    ends: deque[tuple[float, Utterance]],
    figures: Figures,
) -> None:
    cpu_s, began = time.process_time(), time.perf_counter()
    ear.start()
    while not desk.over:
        happened = desk.turn(TURN_S)
        if any(isinstance(e, Spoken) and e.since_voice_s is not None for e in happened):
            waited_s, utterance = ends.popleft()
            since_voice_s = desk.now.since_voice_s[-1]
            figures.from_voice_s.append(since_voice_s)
            figures.from_end_s.append(max(0.0, since_voice_s - waited_s))
            figures.spoken_s += len(utterance.samples) / SAMPLE_RATE_HZ
        figures.joined += sum(isinstance(event, Joint) for event in happened)
    figures.cpu_s = time.process_time() - cpu_s
    figures.wall_s = time.perf_counter() - began
