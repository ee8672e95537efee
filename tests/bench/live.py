"""``python -m tests.bench live``: a visit of twelve cows through the live path, in real time.

Voices that trained nothing speak it, with talk, pauses and shed noise (``live_visit``). All of
``hornsweep listen`` runs at once but the microphone's driver and the drawing, which
``latency --live`` has.
"""

from __future__ import annotations

import queue
import tempfile
import time
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path

import click

from dictation.audio.ear import Ear, EarEvent, Hints, Pause
from dictation.audio.reading import Heed, ignore
from dictation.audio.samples import SAMPLE_RATE_HZ, Samples
from dictation.audio.spool import Spool
from dictation.console.terminal import bar
from dictation.decide.understanding import Understanding
from dictation.live.events import Event, Joint, Spoken
from dictation.live.guide import Guide
from dictation.live.listening import Listening
from dictation.live.loop import WARMING, Hearing, glimpses, hear_ahead
from dictation.live.pauses import pause_after
from dictation.live.session import Session
from dictation.recognition.engines import load_engine
from dictation.recognition.protocol import Heard, Recogniser
from dictation.visit.inputs import Noted
from dictation.visit.journal import Journal
from dictation.visit.parts import Fate, Phrase
from grammar.parse import parse
from tests.bench import machine
from tests.bench.figures import milliseconds, show, table
from tests.bench.judging import DAY
from tests.bench.live_visit import COWS, Outcome, Said, herd, outcome_of, visit_sound

VOICES = ("piper-joe", "kokoro-kumo-british", "flite-slt")
TURN_S = 0.01
SAME_S = 0.35
"""An utterance ends where a phrase does, within so much: the end-pointer is late by 0.1 s."""


class Paced:
    """Sound in real time. ``began_at``: when its first sample would have been spoken."""

    def __init__(self, sound: Samples, paced: bool = True) -> None:
        self._sound = sound
        self._paced = paced
        self.began_at = 0.0

    def blocks(self, heed: Heed = ignore) -> Iterator[Samples]:
        """Each block when its last sample would have been spoken."""
        self.began_at = time.perf_counter()
        for at in range(0, len(self._sound), 512):
            block = self._sound[at : at + 512]
            due = self.began_at + (at + len(block)) / SAMPLE_RATE_HZ
            if self._paced:
                time.sleep(max(0.0, due - time.perf_counter()))
            yield block


@dataclass(slots=True)
class Times:
    """Seconds from the last voiced sample of a phrase until what came of it could be shown.

    ``sure``: phrases taken or obeyed; ``doubtful``: asked about or refused, which wait longer;
    ``first``: the first phrase of a visit.
    """

    sure: list[float] = field(default_factory=list)
    doubtful: list[float] = field(default_factory=list)
    first: list[float] = field(default_factory=list)
    joined: int = 0
    cpu_s: float = 0.0
    wall_s: float = 0.0


@click.command(epilog="Example: python -m tests.bench live --cows 3 --voice piper-joe")
@click.option("--cows", type=click.IntRange(1, len(COWS)), default=len(COWS), show_default=True)
@click.option("--voice", "voices", multiple=True, help="Another voice of the benches; several.")
@click.option("--noise", default="20 dB", show_default=True, help="Condition of the benches.")
@click.option("--instant", is_flag=True, help="As if hearing took no time: no times are told.")
@click.option("--wrong", is_flag=True, help="Print each finding that is not where it belongs.")
def command(cows: int, voices: tuple[str, ...], noise: str, instant: bool, wrong: bool) -> None:
    """Speak a visit to the live path: findings and their cows, questions, cut numbers, times."""
    pace = "as if heard in no time" if instant else "in real time"
    title = f"Live, {cows} cows, {noise}, {pace}\n{machine.head()}"
    head = ("said", "own cow", "asked", "other cow", "lost", "not said", "questions", "joined")
    shown = table(title, ("voice", *head, "paused numbers", "cut", "cut for good"))
    timed = table("From the last voiced sample, ms", ("voice", "phrases", "n", "p50", "p95", "max"))
    for name in voices or VOICES:
        with bar(name):
            sound, told = visit_sound(name, noise, cows)
            found, times = at_once(sound, told) if instant else measured(sound, told)
        counts = (found.said, found.own, found.asked, found.elsewhere, found.lost, found.added)
        pauses = (found.paused, found.cut, found.cut_for_good)
        shown.add_row(name, *map(str, (*counts, found.questions, times.joined, *pauses)))
        kinds = (("sure", times.sure), ("doubtful", times.doubtful), ("first", times.first))
        for kind, seconds in () if instant else kinds:
            timed.add_row(name, kind, str(len(seconds)), *milliseconds(seconds))
        for line in found.wrong if wrong else ():
            click.echo(line)
    show(shown, *(() if instant else (timed,)))


def measured(sound: Samples, told: tuple[Said, ...]) -> tuple[Outcome, Times]:
    """Run the live path over a visit."""
    times, source = Times(), Paced(sound)
    found: queue.SimpleQueue[EarEvent] = queue.SimpleQueue()
    with tempfile.TemporaryDirectory() as folder, Journal.write(Path(folder)) as journal:
        hearing = Hearing(load_engine("guided"))
        hearing.recognise(WARMING)
        understanding = Understanding(parse, lambda: session.visit)
        session = Session(journal, understanding, hearing)
        session.begin(DAY, DAY)
        session.take(Noted(herd()))
        hints = Hints(ahead=partial(hear_ahead, hearing, session, understanding))
        ear = Ear(source, Spool(Path(folder), 0.0), found.put, hints)
        desk = Listening(session, ear, found, understanding, Guide(session, understanding))
        with glimpses(hearing, hints, desk.glimpsed):
            cpu_s, began = time.process_time(), time.perf_counter()
            ear.thread.start()
            while not desk.over:
                _time(desk.turn(TURN_S), source, told, times)
                hearing.ask(session)
            times.cpu_s = time.process_time() - cpu_s
            times.wall_s = time.perf_counter() - began
        hearing.close()
        return outcome_of(session.visit, told), times


class Remembering:
    """A recogniser that hears the same samples once."""

    def __init__(self, inner: Recogniser) -> None:
        self._inner = inner
        self._known: dict[bytes, Heard] = {}

    @property
    def name(self) -> str:
        """Name of the one inside."""
        return self._inner.name

    def recognise(self, samples: Samples) -> Heard:
        """Hear, or remember."""
        key = samples.tobytes()
        if key not in self._known:
            self._known[key] = self._inner.recognise(samples)
        return self._known[key]


def at_once(sound: Samples, told: tuple[Said, ...]) -> tuple[Outcome, Times]:
    """The same as on a machine that hears in no time: where it cuts soonest, on any machine."""
    times, source = Times(), Paced(sound, paced=False)
    found: queue.SimpleQueue[EarEvent] = queue.SimpleQueue()
    recogniser = Remembering(load_engine("guided"))
    with tempfile.TemporaryDirectory() as folder, Journal.write(Path(folder)) as journal:
        understanding = Understanding(parse, lambda: session.visit)
        session = Session(journal, understanding, recogniser)
        session.begin(DAY, DAY)
        session.take(Noted(herd()))

        def tell(event: EarEvent) -> None:
            found.put(event)
            while not found.empty():
                times.joined += sum(isinstance(e, Joint) for e in desk.turn(0.0))

        def ahead(samples: Samples, pause: Pause) -> None:
            pause(pause_after(recogniser.recognise(samples), understanding, session.visit))

        ear = Ear(source, Spool(Path(folder), 0.0), tell, Hints(ahead=ahead))
        desk = Listening(session, ear, found, understanding, Guide(session, understanding))
        ear.run()
        return outcome_of(session.visit, told), times


def _time(happened: tuple[Event, ...], source: Paced, told: tuple[Said, ...], times: Times) -> None:
    now_s = time.perf_counter() - source.began_at
    times.joined += sum(isinstance(event, Joint) for event in happened)
    heard = [e.phrase for e in happened if isinstance(e, Spoken) and e.since_voice_s is not None]
    if not heard or (said := _said_in(heard[0], told)) is None:
        return
    took_s = now_s - said.until_s
    sure = heard[0].fate in (Fate.RECORDED, Fate.COMMAND, Fate.NOTED)
    (times.sure if sure else times.doubtful).append(took_s)
    if said is told[0]:
        times.first.append(took_s)


def _said_in(phrase: Phrase, told: tuple[Said, ...]) -> Said | None:
    """What was said where the utterance ends; None where it ends inside of a phrase."""
    end_s = phrase.until_s or 0.0
    near = min(told, key=lambda said: abs(said.until_s + 0.2 - end_s))
    return near if abs(near.until_s + 0.2 - end_s) <= SAME_S else None
