"""``hornsweep plan``: who should be examined at the next visit, and why."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import click
from rich import box
from rich.console import Group, RenderableType
from rich.table import Column, Table
from rich.text import Text

from dictation.cli.dates import VisitDate, When
from dictation.console.safe import plain
from dictation.console.terminal import sentence, show, show_json
from dictation.intake.reading import read_visit
from dictation.records.herd_list import read_herd_list
from dictation.records.plan_list import Planned, not_understood, plan


@click.command(
    epilog="Example: hornsweep plan --herd farm/herd.csv --date 2026-11-18 visit-2026-10-21"
)
@click.argument("earlier", metavar="[DIR]...", nargs=-1, type=click.Path(path_type=Path))
@click.option(
    "--herd", required=True, type=click.Path(path_type=Path), help="Herd list: CSV, XLSX or JSON."
)
@click.option("--date", "when", type=VisitDate(), help="Day of the visit; today if not given.")
@click.option("--json", "as_json", is_flag=True, help="One JSON array of animals.")
def command(earlier: tuple[Path, ...], herd: Path, when: When | None, as_json: bool) -> None:
    """List who should be examined on a day, and why. DIR: earlier visits, for results and rechecks.

    It is reckoned from dates alone, and the vet decides.
    """
    on = date.today() if when is None else when.on
    animals = read_herd_list(herd).animals
    exams = [exam for folder in earlier for exam in read_visit(folder)[0].exams]
    planned = plan(animals, on, exams)
    for words in not_understood(animals):
        sentence(f"{herd}: the earlier result '{words}' is not understood and was not used.")
    if as_json:
        show_json([_record(each) for each in planned])
    else:
        show(_shown(planned, on, len(animals)))


def _record(each: Planned) -> dict[str, object]:
    return {
        "tag": each.animal.tag,
        "electronic_id": each.animal.electronic_id,
        "reasons": [
            {"rule": r.rule, "why": r.why, "days": r.days, "source": r.source} for r in each.reasons
        ],
    }


def _shown(planned: tuple[Planned, ...], on: date, animals: int) -> RenderableType:
    title = Text(f"To examine on {on.isoformat()}: {len(planned)} of {animals} on the list", "bold")
    columns = (Column("tag", no_wrap=True), Column("why", ratio=1))
    table = Table(*columns, box=box.SIMPLE_HEAD, expand=True, padding=(0, 1))
    for each in planned:
        why = "; ".join(reason.why for reason in each.reasons)
        table.add_row(plain(each.animal.tag, "bold"), plain(why))
    sources = dict.fromkeys(r.source for each in planned for r in each.reasons)
    note = Text(f"Reckoned from dates alone; the vet decides. Sources: {'; '.join(sources)}.")
    return Group(title, table, note) if planned else title
