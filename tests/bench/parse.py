"""``python -m tests.bench parse``: how quickly phrases are read."""

from __future__ import annotations

import random
import time

import click

from dictation.console.terminal import bar
from grammar.parse import parse
from grammar.sample import sample_phrase
from tests.bench import machine
from tests.bench.figures import milliseconds, show, table
from tests.bench.judging import DAY


@click.command(epilog="Example: python -m tests.bench parse --count 2000")
@click.option("--count", type=click.IntRange(1), default=1000, show_default=True, help="Phrases.")
def command(count: int) -> None:
    """Read phrases drawn with the weights of practice."""
    with bar("drawing phrases"):
        phrases = [sample_phrase(random.Random(seed)) for seed in range(count)]
    times_s: list[float] = []
    cpu_before_s = time.process_time()
    for phrase in phrases:
        began = time.perf_counter()
        parse(phrase, DAY)
        times_s.append(time.perf_counter() - began)
    cpu_s = time.process_time() - cpu_before_s
    words = sum(len(p.split()) for p in phrases) / count
    columns = (
        "phrases",
        "words a phrase",
        "phrases a second",
        "a second of CPU",
        "p50 ms",
        "p95 ms",
        "max ms",
    )
    shown = table(f"Parsing\n{machine.head()}", columns)
    pace = f"{count / sum(times_s):.0f}"
    shown.add_row(str(count), f"{words:.1f}", pace, f"{count / cpu_s:.0f}", *milliseconds(times_s))
    show(shown)
