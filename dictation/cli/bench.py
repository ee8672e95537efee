"""``hornsweep bench``: how well and how fast this machine hears the user's own recordings."""

from __future__ import annotations

import os
import platform
from collections.abc import Sequence
from datetime import date
from pathlib import Path

import click
import numpy as np
from rich import box
from rich.console import Group, RenderableType
from rich.table import Column, Table
from rich.text import Text

from dictation.archive.own_recordings import Judged, Tally, judged, labelled_recordings, tally
from dictation.console.safe import plain
from dictation.console.terminal import bar, sentence, show
from dictation.errors import BadInputError
from dictation.recognition.engines import load_engine
from dictation.recognition.protocol import Recogniser

SHARES = ("right", "asked about", "wrong in silence", "lost in silence")


@click.command(epilog="Example: hornsweep bench --recordings my-voice")
@click.option(
    "--recordings",
    "folder",
    required=True,
    type=click.Path(path_type=Path),
    help="Folder of recordings.csv (file, words, voice) and its sound, or of a reviewed visit.",
)
@click.option("--engine", default="guided", show_default=True, help="Recogniser.")
@click.option("--model", type=click.Path(path_type=Path), help="Folder of the engine's model.")
def command(folder: Path, engine: str, model: Path | None) -> None:
    """Hear recordings of which you know what was said, and count what came out.

    Each line of recordings.csv names a file in the folder, the words said in it, and, if you like,
    who said them. No words: nothing in it is for the record. Of a visit's folder the phrases are
    heard that a person put right. Nothing is kept.
    """
    labelled = labelled_recordings(folder, date.today())
    with bar("loading the recogniser"):
        recogniser = load_engine(engine, model)
    results: list[Judged] = []
    with bar("hearing recordings") as progress:
        for done, each in enumerate(labelled, start=1):
            try:
                results.append(judged(each, recogniser, date.today()))
            except BadInputError as error:
                sentence(f"Left out: {error}")
            progress.show(done, len(labelled))
    if not results:
        raise BadInputError(f"{folder} holds no recording that can be heard: record them again.")
    show(_shown(results, recogniser))


def machine() -> str:
    """The processor's own name, its cores, and how many processes ran or waited of late."""
    name = platform.processor() or platform.machine()
    info = Path("/proc/cpuinfo")
    if info.is_file():
        lines = info.read_text(encoding="utf-8", errors="replace").splitlines()
        name = next(
            (li.split(":", 1)[1].strip() for li in lines if li.startswith("model na")), name
        )
    load = f"load {os.getloadavg()[0]:.1f}" if hasattr(os, "getloadavg") else "load unknown"
    return f"{name}, {os.cpu_count()} cores, {load}"


def _shown(results: Sequence[Judged], recogniser: Recogniser) -> RenderableType:
    whole = tally(results)
    head = (
        f"{len(results)} recordings, {whole.right.total} values, heard by {recogniser.name}"
        f" on {date.today().isoformat()}; {machine()}"
    )
    voices = sorted({r.labelled.voice for r in results})
    groups = [("all", results)]
    if voices != [""]:
        groups += [(v or "no voice", [r for r in results if r.labelled.voice == v]) for v in voices]
    return Group(
        plain(head, "bold"),
        _table([(voice, len(of_voice), tally(of_voice)) for voice, of_voice in groups]),
        *(line for result in results for line in _mistakes(result)),
        plain(_caution(whole), "dim"),
    )


def _table(rows: Sequence[tuple[str, int, Tally]]) -> Table:
    heads = ("files", *SHARES, "p50 ms", "p95 ms")
    columns = (Column(head, justify="right") for head in heads)
    table = Table("voice", *columns, box=box.SIMPLE_HEAD, padding=(0, 1))
    for voice, count, figures in rows:
        shares = (figures.right, figures.asked, figures.wrong, figures.lost)
        told = (f"{s.hits} of {s.total}" if s.total else "-" for s in shares)
        table.add_row(plain(voice), str(count), *told, *_milliseconds(figures.took_s))
    return table


def _milliseconds(took_s: Sequence[float]) -> tuple[str, str]:
    """Median and 95th percentile; none where nothing was spoken."""
    if not took_s:
        return "-", "-"
    middle, late = np.percentile(np.asarray(took_s), [50, 95]) * 1000
    return f"{middle:.0f}", f"{late:.0f}"


def _mistakes(result: Judged) -> list[Text]:
    """A line for each value that was stored or lost without a word."""
    name = result.labelled.path.name
    wrong = [
        f"WRONG  {name}: {d.kind}, said {d.said or 'nothing'}, stored {d.heard}"
        for d in result.silently_wrong
    ]
    lost = [f"LOST   {name}: {d.kind}, said {d.said}" for d in result.silently_lost]
    return [plain(line) for line in (*wrong, *lost)]


def _caution(whole: Tally) -> str:
    shares = (("right", whole.right), ("wrong in silence", whole.wrong))
    parts = [
        f"{name} {interval[0]:.1%} to {interval[1]:.1%}"
        for name, share in shares
        if (interval := share.interval) is not None
    ]
    return (
        f"Nineteen times in twenty the true shares lie here: {', '.join(parts)}. They hold for"
        " these voices, this microphone and this noise. Times: from the end of a phrase to its"
        " findings."
    )
