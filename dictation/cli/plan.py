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
from dictation.disk import make_folder
from dictation.errors import WrongUseError
from dictation.intake.reading import read_visit
from dictation.records.farms import farm_named
from dictation.records.herd_list import read_herd_list
from dictation.records.plan_list import Planned, last_seen, not_understood, plan
from dictation.visit.herd_numbers import HerdNumbers
from grammar.exam import Exam, KnownAnimal


@click.command(
    epilog="Example: hornsweep plan --herd farm/herd.csv --date 2026-11-18 visit-2026-10-21"
)
@click.argument("earlier", metavar="[DIR]...", nargs=-1, type=click.Path(path_type=Path))
@click.option("--farm", "name", help="A farm of 'hornsweep farm': its list, its earlier visits.")
@click.option("--herd", type=click.Path(path_type=Path), help="Herd list: CSV, XLSX, ODS, JSON.")
@click.option("--date", "when", type=VisitDate(), help="Day of the visit; today if not given.")
@click.option("--json", "as_json", is_flag=True, help="One JSON array of animals.")
@click.option("--out", type=click.Path(path_type=Path), help="Folder for a page to print.")
def command(  # noqa: PLR0913, PLR0917 - one an option
    earlier: tuple[Path, ...],
    name: str | None,
    herd: Path | None,
    when: When | None,
    as_json: bool,
    out: Path | None,
) -> None:
    """List who should be examined on a day, and why. DIR: earlier visits, for results and rechecks.

    It is reckoned from dates alone, and the vet decides. With --out a page to print and take to the
    race is written, with a place to write: in the order of the herd list, where that is not just
    its tags in order.
    """
    on = date.today() if when is None else when.on
    farm = None if name is None else farm_named(name)
    herd = herd or (None if farm is None else farm.herd)
    if herd is None:
        raise WrongUseError("Name the herd list with --herd, or a farm that has one with --farm.")
    animals = read_herd_list(herd).animals
    folders = (*earlier, *(() if farm is None else farm.earlier))
    exams = [exam for folder in folders for exam in read_visit(folder)[0].exams]
    planned = plan(animals, on, exams)
    if out is not None:
        _write(out, planned, animals, on, exams, None if farm is None else farm.called)
    for words in not_understood(animals):
        sentence(f"{herd}: the earlier result '{words}' is not understood and was not used.")
    if as_json:
        show_json([_record(each) for each in planned])
    else:
        show(_shown(planned, on, len(animals)))


def _write(  # noqa: PLR0913, PLR0917 - what stands on the page
    out: Path,
    planned: tuple[Planned, ...],
    animals: tuple[KnownAnimal, ...],
    on: date,
    exams: list[Exam],
    farm: str | None,
) -> None:
    from dictation.records.farm_list.page import write_page
    from dictation.records.plan_page import plan_page

    last = last_seen((e for e in exams if e.on_date < on), HerdNumbers(animals))
    make_folder(out)
    for path in write_page(out, plan_page(planned, animals, on, last, farm), "plan"):
        sentence(f"Written: {path}")


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
