"""``python -m tests.bench latency --live``: from the end of speech to the screen.

Two runs of the shipped visit over the virtual microphone: one writes JSON Lines, one draws the
screen. The last voice is where the recording's transcript says that a phrase ends, on the machine's
clock; the end-point is when the listening thread was sure of it.
"""

from __future__ import annotations

import csv
import json
import re
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

import click
import numpy as np
import soundfile as sf

from dictation.audio.endpoint import TAIL_S
from dictation.cli.demo import IN_SOURCE as FIXTURES
from dictation.console.terminal import bar
from dictation.errors import MissingError
from dictation.visit.inputs import PhraseHeard, PhrasesJoined
from tests.bench import machine
from tests.bench.figures import show, table
from tests.bench.through_microphone import Run, Use, listened

SAME_S = 0.4
"""An utterance belongs to the phrase of the transcript whose end is nearest, within so much."""

_SHOWN = re.compile("“([^”]*)”")


@dataclass(slots=True)
class Latencies:
    """Seconds, an utterance each.

    ``end_to_record``: from the end-point to the journal; ``voice_to_line``, ``voice_to_screen``:
    from the last voice to the JSON line, or to the terminal. ``heard``: utterances of both runs.
    """

    end_to_record: list[float] = field(default_factory=list)
    voice_to_line: list[float] = field(default_factory=list)
    voice_to_screen: list[float] = field(default_factory=list)
    heard: int = 0
    uses: list[Use] = field(default_factory=list)


def report(seconds: float) -> None:
    """Measure over so much of the shipped visit, and print."""
    with bar("listening, in real time, twice"):
        found = measured(seconds)
    title = f"Live latency, {seconds:.0f} s of the shipped visit, twice\n{machine.head()}"
    shown = table(title, ("from", "to", "utterances", "p50 ms", "p95 ms", "p99 ms", "max ms"))
    for source, target, times in (
        ("end-point", "record", found.end_to_record),
        ("last voice", "line of JSON", found.voice_to_line),
        ("last voice", "screen", found.voice_to_screen),
    ):
        marks = np.percentile(np.asarray(times), [50, 95, 99, 100]) * 1000
        shown.add_row(source, target, str(len(times)), *(f"{mark:.0f}" for mark in marks))
    show(shown)
    for name, use in zip(("JSON", "screen"), found.uses, strict=True):
        share = use.cpu_s / use.wall_s
        click.echo(f"With {name}: {share:.2f} of one core, at most {use.peak_mib:.0f} MiB.")


def measured(seconds: float) -> Latencies:
    """Both runs. Raises MissingError where there is no virtual microphone, or it loses sound."""
    found = Latencies()
    with tempfile.TemporaryDirectory() as folder:
        sound = Path(folder) / "visit.wav"
        ends_s = _part(sound, seconds)
        for on_screen in (False, True):
            run = listened(sound, on_screen)
            found.uses.append(run.use)
            _time(run, on_screen, ends_s, found)
    if not (found.end_to_record and found.voice_to_line and found.voice_to_screen):
        raise MissingError("nothing was heard through the virtual microphone: is PulseAudio whole?")
    return found


def _part(path: Path, seconds: float) -> tuple[float, ...]:
    """Write the beginning of the shipped visit; where its phrases end."""
    folder = FIXTURES
    with sf.SoundFile(folder / "demo_visit.flac") as file:
        sf.write(path, file.read(int(seconds * file.samplerate)), file.samplerate)
    text = (folder / "demo_visit.transcript.csv").read_text(encoding="utf-8")
    ends_s = (float(row["until_s"]) for row in csv.DictReader(text.splitlines()))
    return tuple(end_s for end_s in ends_s if end_s < seconds - 0.5)


def _time(run: Run, on_screen: bool, ends_s: tuple[float, ...], found: Latencies) -> None:
    joined = {given.into for given in run.inputs if isinstance(given, PhrasesJoined)}
    heard = [given for given in run.inputs if isinstance(given, PhraseHeard)]
    # Where the file lies in the visit: most utterances end where a phrase does.
    ends = [h.until_s - TAIL_S for h in heard if h.phrase not in joined]
    first_s = _first_s(ends, ends_s)
    moments = _on_screen(run, heard) if on_screen else _in_lines(run, found)
    for event, at in zip(heard, moments, strict=True):
        if at is None or event.phrase in joined:
            continue
        found.heard += 1
        end_s = event.until_s - TAIL_S - first_s
        nearest_s = min(ends_s, key=lambda s: abs(s - end_s))
        if abs(nearest_s - end_s) <= SAME_S:
            times = found.voice_to_screen if on_screen else found.voice_to_line
            times.append(at - (run.began_at + first_s + nearest_s))


def _first_s(ends: list[float], ends_s: tuple[float, ...]) -> float:
    """Seconds of the visit at which the file begins: where most ends agree, to 20 ms."""
    apart = np.array([[end - end_s for end_s in ends_s] for end in ends]).ravel()
    close = [int(np.sum(np.abs(apart - each) < 0.1)) for each in apart]
    best = apart[int(np.argmax(close))]
    return float(np.median(apart[np.abs(apart - best) < 0.1]))


def _in_lines(run: Run, found: Latencies) -> Iterator[float | None]:
    """When the line of each utterance came."""
    for at, line in _lines(run):
        happening = json.loads(line)
        if happening["event"] == "heard":
            if "since_end_s" in happening:
                found.end_to_record.append(float(happening["since_end_s"]))
            yield at


def _lines(run: Run) -> Iterator[tuple[float, bytes]]:
    rest = b""
    for at, piece in run.output:
        *lines, rest = (rest + piece).split(b"\n")
        for line in lines:
            yield at, line


def _on_screen(run: Run, heard: list[PhraseHeard]) -> Iterator[float | None]:
    """When the words of each utterance first stood on the screen, where they ever did."""
    changes: list[tuple[float, str]] = []
    text = ""
    for at, piece in run.output:
        text = (text + piece.decode("utf-8", "ignore"))[-20_000:]
        shown = _SHOWN.findall(text)
        if shown and (not changes or changes[-1][1] != shown[-1]):
            changes.append((at, shown[-1]))
    place = 0
    for event in heard:
        words = event.hypotheses[0].normal if event.hypotheses else event.free_text
        ahead = range(place, min(len(changes), place + 3))
        found = next((n for n in ahead if changes[n][1].rstrip("… ") in words), None)
        if found is None:
            yield None
            continue
        place = found + 1
        yield changes[found][0]
