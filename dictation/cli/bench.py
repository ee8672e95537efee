"""``hornsweep bench``: measures. Each bench is loaded only when it is called."""

from __future__ import annotations

from importlib.util import find_spec

import click

from dictation.cli.app import LazyGroup

BENCHES: dict[str, tuple[str, str]] = {
    "recognition": ("dictation.bench.recognition", "Phrases and values right, by voice and noise."),
    "latency": ("dictation.bench.latency", "From the last sample to the findings."),
    "live": ("dictation.bench.live", "The live path in real time."),
    "soak": ("dictation.bench.soak", "Eight hours of sound, faster than real time."),
    "memory": ("dictation.bench.memory", "Memory while loading and hearing."),
    "summary": ("dictation.bench.summary", "A thousand visits summed up."),
    "parse": ("dictation.bench.parse", "Phrases a second."),
    "corrections": ("dictation.bench.corrections", "What people had to put right."),
    "review": ("dictation.bench.review", "The page: a 300-cow visit opened and scrolled."),
    "checks": ("dictation.bench.checks", "Exams checked a second."),
}
"""Name of a bench: the module that holds it as ``command``, and one line for --help."""


def _there() -> dict[str, tuple[str, str]]:
    return {name: entry for name, entry in BENCHES.items() if find_spec(entry[0]) is not None}


@click.group(cls=LazyGroup, lazy=_there(), epilog="Example: hornsweep bench latency")
def command() -> None:
    """Measure on this machine, and print a table."""
