"""``python -m tests.bench NAME``: one bench. Each is loaded only when it is called."""

from __future__ import annotations

import sys

import click

from dictation.cli.app import LazyGroup, run

BENCHES: dict[str, tuple[str, str]] = {
    "recognition": ("tests.bench.recognition", "Phrases and values right, by voice and noise."),
    "people": ("tests.bench.people", "Real people, real noise, headsets."),
    "herd": ("tests.bench.herd", "Tags with a herd list beside."),
    "latency": ("tests.bench.latency", "From the last sample to the findings."),
    "live": ("tests.bench.live", "The live path in real time."),
    "soak": ("tests.bench.soak", "Eight hours of sound, faster than real time."),
    "memory": ("tests.bench.memory", "Memory while loading and hearing."),
    "summary": ("tests.bench.summary", "A thousand visits summed up."),
    "parse": ("tests.bench.parse", "Phrases a second."),
    "corrections": ("tests.bench.corrections", "What people had to put right."),
    "review": ("tests.bench.review", "The page: a 300-cow visit opened and scrolled."),
    "checks": ("tests.bench.checks", "Exams checked a second."),
    "way": ("tests.bench.way", "Which files one phrase enters."),
}
"""Name of a bench: the module that holds it as ``command``, and one line for --help."""


@click.group(
    cls=LazyGroup,
    lazy=BENCHES,
    context_settings={"help_option_names": ["-h", "--help"]},
    epilog="Example: python -m tests.bench latency",
)
def bench() -> None:
    """Measure on this machine, and print a table."""


if __name__ == "__main__":
    sys.exit(run(command=bench, name="python -m tests.bench"))
