"""``hornsweep merge``: the halves of one visit, recorded on several laptops, as one visit."""

from __future__ import annotations

from pathlib import Path

import click

from dictation.console.terminal import sentence
from dictation.errors import WrongUseError
from dictation.intake.merging import merge
from dictation.intake.reading import read_visit
from dictation.records.visit_files import write_visit_files


@click.command(epilog="Example: hornsweep merge visit-anna visit-ben --out visit-larkmoor")
@click.argument("folders", metavar="VISIT VISIT", nargs=-1, type=click.Path(path_type=Path))
@click.option("--out", required=True, type=click.Path(path_type=Path), help="New folder.")
def command(folders: tuple[Path, ...], out: Path) -> None:
    """Make one visit of halves that two vets recorded at one farm on one day.

    Each exam carries the name of the half it came from. An animal in both halves is asked about,
    with what they say differently. The sound stays in the folders of the halves.
    """
    if len({folder.resolve() for folder in folders}) < 2:
        raise WrongUseError("Name the folders of two visits, or more.")
    merged = merge(folders, out)
    visit, flags = read_visit(out)
    write_visit_files(out, visit, flags)
    for words in merged.told:
        sentence(words)
    if merged.both:
        sentence(f"In both halves, and asked about: {', '.join(merged.both)}.")
    sentence(f"{out}: {merged.exams} exams of {len(folders)} halves.")
