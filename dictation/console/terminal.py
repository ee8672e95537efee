"""Where output goes: results to standard output, everything else to standard error."""

from __future__ import annotations

import json
import shutil
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from typing import TYPE_CHECKING

import click

from dictation.console.safe import safe

if TYPE_CHECKING:
    from rich.console import RenderableType
    from rich.progress import Progress

NARROWEST, WIDEST = 60, 120


def sentence(text: str) -> None:
    """One sentence on standard error; it stops nothing where nobody reads that any more."""
    with suppress(OSError):
        click.echo(safe(text), err=True)


def width() -> int:
    """Columns to draw for: those of the terminal, 80 where there is none."""
    return max(NARROWEST, min(WIDEST, shutil.get_terminal_size((80, 24)).columns))


def colour() -> bool:
    """Whether standard output takes colour."""
    from rich.console import Console

    return Console(file=sys.stdout).color_system is not None and sys.stdout.isatty()


def show(parts: RenderableType) -> None:
    """Draw on standard output, as wide as it is, and in colour where it takes that."""
    from dictation.console.screen import render

    click.echo(render(parts, width(), colour()), nl=False)


def show_json(record: object) -> None:
    """One JSON value on standard output."""
    click.echo(json.dumps(record, ensure_ascii=False, indent=2))


class Bar:
    """Progress over something longer than a second, on standard error, only on a terminal."""

    def __init__(self, progress: Progress, task: str) -> None:
        self._progress = progress
        self._task = progress.add_task(task, total=None)

    def show(self, done_s: float, length_s: float | None) -> None:
        """Seconds done, of so many."""
        self._progress.update(self._task, completed=done_s, total=length_s)


@contextmanager
def bar(task: str) -> Iterator[Bar]:
    """A bar with a name, gone again at the end."""
    from rich.console import Console
    from rich.progress import BarColumn, Progress, SpinnerColumn, TextColumn, TimeElapsedColumn

    console = Console(stderr=True)
    with Progress(
        SpinnerColumn(),
        TextColumn("{task.description}", markup=False),
        BarColumn(),
        TextColumn("{task.percentage:>3.0f}%"),
        TimeElapsedColumn(),
        console=console,
        transient=True,
        disable=not console.is_terminal,
    ) as progress:
        yield Bar(progress, safe(task))
