"""``python -m tests.bench latency``: from the last sample of an utterance to its findings.

The real path: a session with its journal and sounds on disk, the recogniser, the parser, the fold
and the checks. The silence that the end-pointer waits for is not counted; it is a setting.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

import click

from dictation.archive.own_recordings import BEFORE
from dictation.audio.endpoint import Utterance
from dictation.audio.samples import SAMPLE_RATE_HZ, Samples
from dictation.console.terminal import bar
from dictation.errors import MissingError
from dictation.live.session import Session
from dictation.recognition.engines import engine
from dictation.recognition.protocol import Heard, Recogniser
from dictation.visit.journal import Journal
from grammar.constraint import constraint
from grammar.parse import parse, values_of
from tests.bench import machine
from tests.bench.figures import milliseconds, show, table
from tests.bench.judging import DAY
from tests.bench.plan import Sound, plan
from tests.bench.voices import Split

LENGTHS_S = (2.0, 4.0, 6.0)
"""Upper ends of the classes of length; longer utterances are left out."""

WARM_UPS = 3
_LOAD = (
    "import time; began = time.perf_counter(); "
    "from dictation.recognition.engines import load_engine; load_engine('guided'); "
    "print(time.perf_counter() - began)"
)


class Timed:
    """A recogniser that notes how long it took."""

    def __init__(self, inner: Recogniser) -> None:
        self._inner = inner
        self.took_s: list[float] = []

    @property
    def name(self) -> str:
        """Name of the one inside."""
        return self._inner.name

    def recognise(self, samples: Samples) -> Heard:
        """Hear, and note the time."""
        began = time.perf_counter()
        heard = self._inner.recognise(samples)
        self.took_s.append(time.perf_counter() - began)
        return heard


@dataclass(slots=True)
class Times:
    """Of one class of length: seconds of sound, of recognition, and of everything.

    ``cpu_s``: seconds of processor for everything, all threads together. On a busy machine it says
    more than the clock.
    """

    sound_s: list[float] = field(default_factory=list)
    recognised_s: list[float] = field(default_factory=list)
    whole_s: list[float] = field(default_factory=list)
    cpu_s: list[float] = field(default_factory=list)


@click.command(epilog="Example: python -m tests.bench latency --count 60")
@click.option("--count", type=click.IntRange(5), default=40, show_default=True, help="A class.")
@click.option("--model", type=click.Path(path_type=Path), help="Another folder of the model.")
@click.option("--live", is_flag=True, help="From a microphone to the screen, in real time.")
@click.option("--seconds", type=click.FloatRange(10.0), default=240.0, show_default=True)
def command(count: int, model: Path | None, live: bool, seconds: float) -> None:
    """Time the way from the last sample to the findings, by length of utterance.

    With --live over a virtual microphone (PulseAudio): twice so many seconds of the shipped visit.
    """
    if live:
        from tests.bench.live_latency import report

        report(seconds)
        return
    loads = [load_s() for _ in range(3)]
    times = measured(count, model)
    title = f"Latency, {count} utterances a class, in a visit that grows\n{machine.head()}"
    columns = (
        "utterance",
        "heard",
        "p50 ms",
        "p95 ms",
        "max ms",
        "recogniser p95",
        "CPU p95 ms",
        "s/s",
    )
    shown = table(title, columns)
    for until_s, of_class in times.items():
        pace = sum(of_class.recognised_s) / max(sum(of_class.sound_s), 1e-9)
        alone = milliseconds(of_class.recognised_s)[1]
        marks = milliseconds(of_class.whole_s)
        cpu = milliseconds(of_class.cpu_s)[1]
        heard = str(len(of_class.whole_s))
        shown.add_row(f"up to {until_s:.0f} s", heard, *marks, alone, cpu, f"{pace:.3f}")
    show(shown)
    click.echo(f"Load, a fresh process: {', '.join(f'{s:.2f}' for s in sorted(loads))} s")


def load_s() -> float:
    """Seconds until a fresh process can hear, its imports included."""
    done = subprocess.run(
        [sys.executable, "-c", _LOAD], check=False, capture_output=True, text=True
    )
    if done.returncode != 0:
        raise MissingError(f"The recogniser does not load here: {done.stderr.strip()[-200:]}")
    return float(done.stdout)


def measured(count: int, model_dir: Path | None) -> dict[float, Times]:
    """Times by class of length, ``count`` utterances each."""
    recogniser = Timed(engine("guided", constraint(), values_of, model_dir=model_dir))
    times = {until_s: Times() for until_s in LENGTHS_S}
    with tempfile.TemporaryDirectory() as folder, Journal.write(Path(folder)) as journal:
        session = Session(journal, parse, recogniser)
        session.begin(DAY, DAY)
        session.type(BEFORE)
        with bar("hearing") as progress:
            _warm(session)
            for number, (until_s, samples) in enumerate(_chosen(count)):
                progress.show(number, len(LENGTHS_S) * count)
                _time(session, recogniser, samples, times[until_s])
    return times


def _time(session: Session, recogniser: Timed, samples: Samples, times: Times) -> None:
    at_s = session.visit.audio_until_s
    until_s = at_s + len(samples) / SAMPLE_RATE_HZ
    utterance = Utterance(samples, at_s, until_s, session.visit.given.phrase + 1)
    cpu_before_s, began = time.process_time(), time.perf_counter()
    session.hear(utterance)
    times.cpu_s.append(time.process_time() - cpu_before_s)
    times.whole_s.append(time.perf_counter() - began)
    times.recognised_s.append(recogniser.took_s[-1])
    times.sound_s.append(len(samples) / SAMPLE_RATE_HZ)
    if session.visit.paused:
        session.type("resume")


def _warm(session: Session) -> None:
    """The first utterances of a process are slower; they are heard before the clock runs."""
    for sound in _phrases()[:WARM_UPS]:
        samples = sound.samples()
        session.hear(Utterance(samples, 0.0, len(samples) / SAMPLE_RATE_HZ, 1))


def _chosen(count: int) -> Iterator[tuple[float, Samples]]:
    """Utterances with their class, until every class is full or the plan ends."""
    left = dict.fromkeys(LENGTHS_S, count)
    for sound in _phrases()[WARM_UPS:]:
        if not any(left.values()):
            return
        samples = sound.samples()
        fits = (t for t in LENGTHS_S if len(samples) / SAMPLE_RATE_HZ <= t)
        until_s = next(fits, None)
        if until_s is not None and left[until_s]:
            left[until_s] -= 1
            yield until_s, samples


def _phrases() -> list[Sound]:
    return [sound for sound in plan("2000", Split.TUNE) if sound.kind == "phrase"]
