"""``python -m tests.bench way``: which files one heard phrase enters, from its sound to CSV."""

from __future__ import annotations

import sys
import tempfile
from collections import Counter
from pathlib import Path
from types import FrameType

import click
from rich.table import Table

from dictation.audio.recording import open_recording, utterances
from dictation.cli.demo import demonstration
from dictation.console.terminal import bar
from dictation.live.session import Begin, Session, session_in
from dictation.recognition.engines import load_engine
from dictation.records.visit_files import write_records
from tests.bench import machine
from tests.bench.figures import show

ROOT = Path(__file__).resolve().parents[2]

WARM = 4
"""Phrases taken before: what is loaded once is not on the way of the next."""


@click.command(epilog="Example: python -m tests.bench way")
@click.option("--files", "listed", is_flag=True, help="Name each file.")
def command(listed: bool) -> None:
    """Take a phrase of the demonstration with every call watched, and count the files entered."""
    shipped = demonstration()
    assert shipped is not None
    with bar("loading the recogniser"):
        recogniser = load_engine("guided")
    with tempfile.TemporaryDirectory() as name:
        begin = Begin(Path(name), shipped.on, shipped.herd, shipped.farm)
        with session_in(begin, recogniser) as session:
            calls = _watched(session, shipped.recording)
    table = Table(title=f"One phrase of the demonstration, from sound to CSV\n{machine.head()}")
    for column in ("room", "files", "calls"):
        table.add_column(column, justify="left" if column == "room" else "right")
    rooms: dict[str, list[Path]] = {}
    for path in calls:
        room = "grammar" if path.parts[0] == "grammar" else "/".join(path.parts[:2])
        rooms.setdefault(room, []).append(path)
    for room, paths in sorted(rooms.items()):
        table.add_row(room, str(len(paths)), str(sum(calls[p] for p in paths)))
    outside = sum(len(paths) for room, paths in rooms.items() if room != "grammar")
    table.add_row("outside grammar", str(outside), "", style="bold")
    table.add_row("in all", str(len(calls)), str(sum(calls.values())), style="bold")
    show(table)
    if listed:
        for path in sorted(calls):
            click.echo(f"{calls[path]:7} {path}")


def _watched(session: Session, recording: Path) -> Counter[Path]:
    """Calls by file while one phrase is heard and the files are written."""
    calls: Counter[Path] = Counter()

    def watch(frame: FrameType, event: str, _: object) -> None:
        path = Path(frame.f_code.co_filename)
        if event == "call" and path.is_relative_to(ROOT):
            calls[path.relative_to(ROOT)] += 1

    for place, sound in enumerate(utterances(open_recording(recording))):
        if place < WARM:
            session.hear(sound)
            write_records(session.journal.folder, session.visit, session.flags)
            continue
        sys.setprofile(watch)
        try:
            session.hear(sound)
            write_records(session.journal.folder, session.visit, session.flags)
        finally:
            sys.setprofile(None)
        break
    calls.pop(Path(__file__).relative_to(ROOT), None)
    return calls
