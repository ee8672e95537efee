"""``python -m tests.bench summary``: how long a practice's many visits take."""

from __future__ import annotations

import random
import tempfile
import time
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from datetime import date, timedelta
from multiprocessing import get_context
from pathlib import Path

import click
from rich.console import Console
from rich.table import Table

from dictation.console.terminal import bar
from dictation.decide.doubt import doubts_of_reading
from dictation.decide.record import Record
from dictation.records.practice.gathering import gather, visit_folders
from dictation.records.practice.summary import summarise_practice
from dictation.records.practice.visit_lines import LINES_NAME
from dictation.records.visit_files import write_visit_files
from dictation.visit.facts import HerdListed, VisitOpened
from dictation.visit.inputs import ExamAdded, Input, Noted, PhraseTyped, VisitClosed
from dictation.visit.journal import Journal
from grammar.checks import check_visit
from grammar.exam import KnownAnimal, Service
from grammar.parse import parse
from tests.bench import machine
from tests.bench.written import rows_of, write_rows

VARIANTS = 10
"""Visits that are made up of their own; the others repeat them on other farms."""

FIRST_DAY = date(2024, 1, 8)
DIGITS = ("oh", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
TENS = ("thirty", "forty", "fifty", "sixty", "seventy", "eighty")
SIRES = ("Rowan", "Alder", "Hazel", "Bramble")
INSEMINATORS = ("Ash", "Birch", "Cedar")


def inputs_of_a_visit(seed: int, cows: int, farm: str) -> list[Input]:
    """A made-up visit: half of the cows are in calf, some are asked about, some are lost."""
    draw = random.Random(seed)
    on = FIRST_DAY + timedelta(days=28 * seed)
    tags = [str(1000 + number) for number in range(cows)]
    inputs: list[Input] = [
        Noted(VisitOpened(on, farm)),
        Noted(HerdListed("b" * 64, "herd.csv", _herd(tags, on))),
    ]
    for tag in tags:
        for phrase in _phrases(draw, tag):
            reading = parse(phrase, on)
            doubts = doubts_of_reading(reading, on)
            number = len(inputs) - 1
            inputs.append(
                PhraseTyped(number, phrase, reading.said, reading.others, reading.unread, doubts)
            )
    return [*inputs, VisitClosed()]


def write_visits(folder: Path, visits: int, cows: int) -> None:
    """So many visits, each in a folder of its own, with the files that a session leaves there."""
    made = [inputs_of_a_visit(seed, cows, "") for seed in range(min(VARIANTS, visits))]
    rows = [rows_of(inputs) for inputs in made]
    folders = []
    for number in range(visits):
        which = number % len(made)
        opened = made[which][0]
        assert isinstance(opened, Noted)
        assert isinstance(opened.fact, VisitOpened)
        first = rows_of([Noted(replace(opened.fact, farm=f"farm {number // len(made)}"))])
        folders.append(folder / f"visit-{number:04d}")
        write_rows(folders[-1], [*first, *rows[which][1:]])
    with ProcessPoolExecutor(mp_context=get_context("spawn")) as pool:
        list(pool.map(_write_files, folders, chunksize=4))


def _write_files(folder: Path) -> None:
    with Journal.read(folder) as journal:
        visit = journal.visit()
    write_visit_files(folder, visit, check_visit(visit.exams))


def _herd(tags: list[str], on: date) -> tuple[KnownAnimal, ...]:
    draw = random.Random(on.toordinal())
    return tuple(
        KnownAnimal(
            tag,
            breed="Holstein",
            parity=draw.randint(0, 6),
            calved_on=on - timedelta(days=draw.randint(90, 200)),
            services=tuple(
                Service(
                    on - timedelta(days=days),
                    sire=draw.choice(SIRES),
                    inseminator=draw.choice(INSEMINATORS),
                )
                for days in sorted(draw.sample(range(30, 85), draw.randint(1, 3)), reverse=True)
            ),
        )
        for tag in tags
    )


def _phrases(draw: random.Random, tag: str) -> list[str]:
    said = [f"next cow {' '.join(DIGITS[int(digit)] for digit in tag)}"]
    size = draw.choice(("eighteen", "twenty-two", "twenty-five"))
    said.append(f"left ovary CL {size}, right ovary follicle nine")
    if draw.random() < 0.55:
        said.append(f"pregnant {draw.choice(TENS)}-{DIGITS[draw.randint(1, 9)]} days")
        if draw.random() < 0.3:
            said.append(f"crown rump {draw.choice(('twenty', 'thirty', 'forty'))} millimetres")
        if draw.random() < 0.05:
            said.append("embryonic loss")
    else:
        said.append(draw.choice(("open", "open", "uterus clear, open", "uncertain")))
        if draw.random() < 0.1:
            said.append("recheck in two weeks")
    if draw.random() < 0.1:
        said.append("scratch that")
    return said


@click.command(epilog="Example: python -m tests.bench summary --visits 1000 --cows 100")
@click.option("--visits", default=1000, show_default=True, type=click.IntRange(1))
@click.option("--cows", default=100, show_default=True, type=click.IntRange(1))
def command(visits: int, cows: int) -> None:
    """Sum up made-up visits: with the lines that visits keep, and with every journal folded."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name) / "visits"
        with bar("writing visits"):
            write_visits(folder, visits, cows)
        rows = [("first time, as the visits were left", *_timed(folder))]
        _add_an_event(folder / "visit-0000")
        rows.append(("one visit went on since, its files not written", *_timed(folder)))
        for path in folder.glob(f"*/{LINES_NAME}"):
            path.unlink()
        rows.append(("first time, visits that kept no lines", *_timed(folder)))
        rows.append(("the same, later", *_timed(folder)))
    table = Table(title=f"{visits} visits of {cows} cows\n{machine.head()}")
    for column in ("", "seconds", "journals folded", "exams"):
        table.add_column(column, justify="left" if not column else "right")
    for words, seconds, folded, exams in rows:
        table.add_row(words, f"{seconds:.2f}", str(folded), str(exams))
    Console(width=100).print(table)


def _add_an_event(folder: Path) -> None:
    with Journal.write(folder) as journal:
        Record(journal).take(ExamAdded(None, "9999"))


def _timed(folder: Path) -> tuple[float, int, int]:
    began = time.perf_counter()
    gathered = gather(visit_folders((folder,)))
    summary = summarise_practice(gathered.visits)
    return time.perf_counter() - began, gathered.folded, summary.exams
