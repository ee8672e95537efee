"""``hornsweep repair``: what can be read of a damaged visit, in a new folder."""

from __future__ import annotations

from pathlib import Path

import click

from dictation.console.terminal import sentence
from dictation.intake.repair import repair


@click.command(epilog="Example: hornsweep repair visit-2026-11-18 --out visit-repaired")
@click.argument("folder", metavar="DIR", type=click.Path(path_type=Path))
@click.option("--out", type=click.Path(path_type=Path), help="New folder; DIR-repaired else.")
@click.option("--strict", is_flag=True, help="Exit with 1 if something is lost.")
def command(folder: Path, out: Path | None, strict: bool) -> int:
    """Write what can be read of a damaged visit to a new folder, and say what is lost.

    The damaged folder is never touched.
    """
    new = out or folder.with_name(f"{folder.resolve().name}-repaired")
    found = repair(folder, new)
    for line in found.lost:
        sentence(line)
    whole = "Nothing is lost." if not found.lost else f"Lost or damaged: {len(found.lost)}."
    sentence(f"{new}: {found.entries} entries and {found.sounds} files of sound. {whole}")
    return 1 if strict and found.lost else 0
