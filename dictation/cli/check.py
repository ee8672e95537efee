"""``hornsweep check``: every flag of a visit, with its reason and source."""

from __future__ import annotations

import json
from pathlib import Path

import click

from dictation.cli.console import colour, width
from dictation.cli.visits import read_visit
from dictation.console.flags import flags_table
from dictation.console.screen import render
from dictation.console.summary import to_settle
from dictation.session.happenings import flag_record


@click.command(epilog="Example: hornsweep check visit-2026-11-18")
@click.argument("folder", metavar="DIR", type=click.Path(path_type=Path))
@click.option("--herd", type=click.Path(path_type=Path), help="Herd list in CSV, for this look.")
@click.option("--json", "as_json", is_flag=True, help="One JSON array of flags.")
@click.option("--strict", is_flag=True, help="Exit with 1 if something is left to settle.")
def command(folder: Path, herd: Path | None, as_json: bool, strict: bool) -> int:
    """Check a visit again and say what is left to settle. Nothing is written."""
    visit, flags = read_visit(folder, herd)
    if as_json:
        records = [
            flag_record(exam.number, exam.tag, flag)
            for exam in visit.exams
            for flag in flags[exam.number]
        ]
        click.echo(json.dumps(records, ensure_ascii=False, indent=2))
    else:
        click.echo(render(flags_table(visit, flags), width(), colour()), nl=False)
    return 1 if strict and to_settle(visit, flags) else 0
