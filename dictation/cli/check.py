"""``hornsweep check``: what of a visit is left to settle, its notes, and all the rules."""

from __future__ import annotations

from datetime import date
from difflib import get_close_matches
from itertools import chain
from pathlib import Path

import click

from dictation.console.flags import flags_table, missed_table, rules_table
from dictation.console.summary import to_settle
from dictation.console.terminal import sentence, show, show_json
from dictation.errors import WrongUseError
from dictation.intake.reading import read_visit, visits_under
from dictation.live.events import flag_record
from dictation.visit.state import Visit
from grammar.checks import RULES, check_visit, explain
from grammar.history import MissedRecheck, missed_rechecks, with_earlier


@click.command(epilog="Example: hornsweep check visit-2026-11-18")
@click.argument("folder", metavar="[DIR]", required=False, type=click.Path(path_type=Path))
@click.option("--herd", type=click.Path(path_type=Path), help="Herd list in CSV, for this look.")
@click.option(
    "--earlier",
    type=click.Path(path_type=Path),
    help="Earlier visits to the herd, or one: what changed since is checked too.",
)
@click.option("--notes", is_flag=True, help="Every note in full; else they are counted.")
@click.option("--list", "list_rules", is_flag=True, help="Every rule with its source.")
@click.option("--explain", "rule", metavar="RULE", help="What one rule asks, and who says so.")
@click.option("--json", "as_json", is_flag=True, help="One JSON array of flags.")
@click.option("--strict", is_flag=True, help="Exit with 1 if something is left to settle.")
def command(  # noqa: PLR0913, PLR0917 - one parameter an option
    folder: Path | None,
    herd: Path | None,
    earlier: Path | None,
    notes: bool,
    list_rules: bool,
    rule: str | None,
    as_json: bool,
    strict: bool,
) -> int:
    """Check a visit again and say what is left to settle. Nothing is written."""
    if list_rules:
        show(rules_table(RULES))
        return 0
    if rule is not None:
        click.echo(_explained(rule))
        return 0
    if folder is None:
        raise WrongUseError("Name the folder of a visit, or --list, or --explain RULE.")
    visit, flags = read_visit(folder, herd, sentence)
    missed: tuple[MissedRecheck, ...] = ()
    if earlier is not None and visit.on_date is not None:
        past = [v.exams for v in _earlier(earlier, folder, visit.on_date)]
        flags = check_visit(with_earlier(visit.exams, past))
        missed = missed_rechecks([*chain.from_iterable(past), *visit.exams], visit.on_date)
    if as_json:
        show_json(
            [
                flag_record(exam.number, exam.tag, flag)
                for exam in visit.exams
                for flag in flags[exam.number]
            ]
        )
    else:
        show(flags_table(visit, flags, notes))
        if missed:
            show(missed_table(missed))
    return 1 if strict and to_settle(visit, flags) else 0


def _earlier(among: Path, folder: Path, on: date) -> list[Visit]:
    """Earlier visits; how many there are, and which cannot be read, is said on standard error."""
    found, damaged = visits_under(among, but=folder)
    past = [visit for visit in found if visit.on_date is not None and visit.on_date < on]
    for told in damaged:
        click.echo(f"Passed over: {told}", err=True)
    of_them = f"{len(past)} earlier {'visit' if len(past) == 1 else 'visits'}"
    click.echo(f"{of_them} found in {among}.", err=True)
    return past


def _explained(rule: str) -> str:
    text = explain(rule)
    if text is None:
        near = get_close_matches(rule, [r.identifier for r in RULES], 1, 0.4)
        hint = f" Did you mean '{near[0]}'?" if near else " See hornsweep check --list."
        raise WrongUseError(f"There is no rule '{rule}'.{hint}")
    return text
