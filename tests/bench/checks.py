"""``python -m tests.bench checks``: how long it takes to check many exams."""

from __future__ import annotations

import random
import time
from collections import Counter
from datetime import timedelta

import click

from dictation.console.terminal import bar
from grammar.checks import check_exam
from grammar.exam import Exam, FindingState, KnownAnimal, RecordedFinding, Service
from grammar.findings import Animal, Finding
from grammar.parse import parse
from grammar.sample import sample_phrase
from tests.bench import machine
from tests.bench.figures import milliseconds, show, table
from tests.bench.judging import DAY

POOL = 600
"""Phrases whose findings the exams are dealt from."""


@click.command(epilog="Example: python -m tests.bench checks --count 10000")
@click.option("--count", type=click.IntRange(1), default=10_000, show_default=True, help="Exams.")
def command(count: int) -> None:
    """Check random exams, each with four to twelve findings and the animal's services."""
    with bar("making exams"):
        exams = random_exams(count, seed=1)
    times_s: list[float] = []
    severities: Counter[str] = Counter()
    cpu_before_s = time.process_time()
    for exam in exams:
        began = time.perf_counter()
        flags = check_exam(exam)
        times_s.append(time.perf_counter() - began)
        severities.update(str(flag.severity) for flag in flags)
    cpu_s = time.process_time() - cpu_before_s
    columns = (
        "exams",
        "s in all",
        "s of CPU",
        "exams a second",
        "p50 ms",
        "p95 ms",
        "max ms",
        "flags",
    )
    shown = table(f"Checks\n{machine.head()}", columns)
    whole_s = sum(times_s)
    flags_seen = ", ".join(f"{n} {name}" for name, n in sorted(severities.items()))
    marks = milliseconds(times_s)
    shown.add_row(
        str(count), f"{whole_s:.2f}", f"{cpu_s:.2f}", f"{count / whole_s:.0f}", *marks, flags_seen
    )
    show(shown)


def random_exams(count: int, seed: int) -> list[Exam]:
    """Exams as they may be spoken, with what a herd list may know; the same ones every time."""
    rng = random.Random(seed)
    pool = _pool(rng)
    return [_exam(rng, pool, number) for number in range(1, count + 1)]


def _pool(rng: random.Random) -> list[tuple[Finding, ...]]:
    readings = (parse(sample_phrase(rng), DAY) for _ in range(POOL))
    spoken = (tuple(f for f in r.findings if not isinstance(f, Animal)) for r in readings)
    return [findings for findings in spoken if findings]


def _exam(rng: random.Random, pool: list[tuple[Finding, ...]], number: int) -> Exam:
    findings: list[Finding] = [Animal(tag=str(number))]
    while len(findings) < rng.randint(4, 12):
        findings += rng.choice(pool)
    recorded = tuple(
        RecordedFinding(place, finding, FindingState.ACCEPTED, "")
        for place, finding in enumerate(findings, start=1)
    )
    return Exam(
        number=number,
        on_date=DAY,
        tag=str(number),
        recorded=recorded,
        known=_known(rng, str(number)),
        closed=True,
        herd_list_given=True,
    )


def _known(rng: random.Random, tag: str) -> KnownAnimal | None:
    if rng.random() < 0.2:
        return None
    services = tuple(
        Service(DAY - timedelta(days=rng.randint(20, 280))) for _ in range(rng.randint(0, 3))
    )
    calved = DAY - timedelta(days=rng.randint(10, 400))
    return KnownAnimal(tag, calved_on=calved, parity=rng.randint(0, 6), services=services)
