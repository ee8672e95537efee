"""``hornsweep import``: taking in what other programs, or a spreadsheet, hold."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import click
from rich import box
from rich.console import Group, RenderableType
from rich.table import Column, Table
from rich.text import Text

from dictation.cli.dates import VisitDate, When
from dictation.console.safe import plain
from dictation.console.terminal import sentence, show
from dictation.errors import BadInputError, WrongUseError
from dictation.intake.from_files import take_in
from dictation.intake.reading import read_visit
from dictation.records.csv_reading import read_csv_visit
from dictation.records.herd.countries import country_of
from dictation.records.herd.dates import DateOrder
from dictation.records.herd.layout import (
    Layout,
    Recognised,
    is_column,
    keep_layout,
    recognise,
)
from dictation.records.herd.sheet import Sheet, content_of
from dictation.records.herd_list import read_herd_list, read_list, sheet_of
from dictation.records.questions_file import questions_of_no_exam
from dictation.records.visit_files import write_visit_files
from dictation.visit.facts import VisitOpened
from grammar.exam import KnownAnimal

EXAMPLES_SHOWN = 3
ANIMALS_SHOWN = 10
ROWS_NAMED = 8
_PREVIEW: dict[str, Callable[[KnownAnimal], str]] = {
    "tag": lambda a: a.tag,
    "ear tag": lambda a: a.national or "",
    "pen": lambda a: a.pen or "",
    "class": lambda a: a.animal_class or "",
    "calved": lambda a: "" if a.calved_on is None else a.calved_on.isoformat(),
    "served": lambda a: ", ".join(s.first_day.isoformat() for s in a.services),
    "status": lambda a: a.last_status or "",
}
"""Columns of the preview."""
_DELIMITER_WORDS = {",": "comma", ";": "semicolon", "\t": "tab", "|": "upright bar"}
_ORDER_WORDS = {
    DateOrder.ISO: "year-month-day (2026-11-18)",
    DateOrder.DAY_FIRST: "day first (18/11/2026)",
    DateOrder.MONTH_FIRST: "month first (11/18/2026)",
}


@click.group(epilog="Example: hornsweep import herd farm/cows.csv")
def command() -> None:
    """Take in a herd list, or a visit that was exported as CSV."""


@command.command(
    short_help="A herd list of any form, looked at and confirmed.",
    epilog="Example: hornsweep import herd farm/cows.csv --column 'Last AI=service_1'"
    " --date-order dmy --yes",
)
@click.argument("path", metavar="LIST", type=click.Path(path_type=Path))
@click.option(
    "--column",
    "said",
    multiple=True,
    metavar="'HEADING=NAME'",
    help="What a column is read as; an empty NAME is not read. May be repeated.",
)
@click.option("--date-order", type=click.Choice([str(o) for o in DateOrder]), help="Of all dates.")
@click.option("--yes", is_flag=True, help="Confirm without being asked.")
def herd(path: Path, said: tuple[str, ...], date_order: str | None, yes: bool) -> None:
    """Show how a herd list will be read; once confirmed, keep it for the lists of its folder.

    CSV, XLSX, ODS and XLS of any form, in English, German, Dutch, French, Spanish, Portuguese,
    Italian or Danish. A list in JSON of the Animal Data Exchange standard, or in hornsweep's own
    form, needs no import.
    """
    if path.suffix.lower() == ".json":
        count = len(read_herd_list(path).animals)
        sentence(f"{path}: {count} animals, in the standard's JSON; it can be used as it is.")
        return
    content = content_of(path)
    sheet = sheet_of(path, content)
    found = recognise(sheet, _columns_said(said))
    layout = found.layout
    if date_order is not None:
        layout = replace(layout, date_order=DateOrder(date_order))
    show(_shown(sheet, found, layout, date_order is not None))
    _stop_if_not_clear(found, layout, date_order)
    read = read_list(path, content, layout)
    animals = read.animals
    if not animals:
        raise BadInputError(f"{path} names no animal on the farm.")
    show(_preview(animals))
    if countries := _countries(animals):
        sentence(countries)
    if read.passed_over:
        sentence(_passed_over(read.passed_over))
    if not yes and not click.confirm(f"{len(animals)} animals. Is this right?", err=True):
        sentence("Nothing was kept: name what is wrong with --column or --date-order.")
        return
    kept = keep_layout(path, layout)
    sentence(f"{len(animals)} animals; lists in {path.parent} are read so from now on ({kept}).")


@command.command(
    short_help="A visit out of exams.csv and findings.csv.",
    epilog="Example: hornsweep import visit from-the-vet --date 2026-11-18 --herd farm/herd.csv"
    " --out visit-2026-11-18",
)
@click.argument("folder", metavar="DIR", type=click.Path(path_type=Path))
@click.option("--date", "when", type=VisitDate(), help="Day of the visit.")
@click.option("--herd", "listed", type=click.Path(path_type=Path), help="Herd list of the visit.")
@click.option("--farm", help="Name of the farm.")
@click.option("--out", required=True, type=click.Path(path_type=Path), help="New folder.")
def visit(
    folder: Path, when: When | None, listed: Path | None, farm: str | None, out: Path
) -> None:
    """Take a visit in that was exported as CSV, whole or not at all.

    CSV does not carry the herd list, the sound or who approved what: give the list again with
    --herd, and approve again what you stand for. Ages and dates are reckoned anew.
    """
    herd_list = None if listed is None else read_herd_list(listed)
    animals = () if herd_list is None else herd_list.animals
    read = read_csv_visit(folder, None if when is None else when.on, animals)
    if read.on_date is None:
        raise WrongUseError("The files do not say which day it was: give it with --date.")
    take_in(out, read.exams, VisitOpened(read.on_date, farm), herd_list, folder.name, read.asked)
    taken, flags = read_visit(out)
    write_visit_files(out, taken, flags)
    for question in questions_of_no_exam(folder):
        sentence(f"Left out, asked between two animals: {question} Settle it in the visit itself.")
    findings = sum(len(exam.recorded) for exam in taken.exams)
    sentence(f"{out}: {len(taken.exams)} exams and {findings} findings of {read.on_date}.")


def _columns_said(said: tuple[str, ...]) -> dict[str, str | None]:
    columns: dict[str, str | None] = {}
    for each in said:
        heading, equals, name = each.rpartition("=")
        if not equals or (name and not is_column(name.strip())):
            raise WrongUseError(f"--column '{each}' is not HEADING=NAME with a name that is read.")
        columns[heading.strip()] = name.strip() or None
    named = [name for name in columns.values() if name is not None]
    if len(named) != len(set(named)):
        raise WrongUseError("Two --column options give the same name: a name is of one column.")
    return columns


def _stop_if_not_clear(found: Recognised, layout: Layout, date_order: str | None) -> None:
    """Where a person must say something first, nothing is asked that could be answered by habit."""
    if "tag" not in layout.names.values():
        raise WrongUseError("No column was recognised as the tag: name it with --column.")
    if date_order is not None or DateOrder.ISO in found.orders or len(found.orders) == 1:
        return
    how = "Every date fits" if found.orders else "Some dates fit only"
    both = "day first and month first" if found.orders else "day first, others only month first"
    raise WrongUseError(f"{how} {both}: say which with --date-order dmy or mdy.")


def _preview(animals: tuple[KnownAnimal, ...]) -> RenderableType:
    """The first animals as they were understood."""
    table = Table(box=box.SIMPLE_HEAD, expand=True, padding=(0, 1))
    for name in _PREVIEW:
        table.add_column(name, overflow="fold")
    for each in animals[:ANIMALS_SHOWN]:
        table.add_row(*(plain(told(each)) for told in _PREVIEW.values()))
    return table


def _countries(animals: tuple[KnownAnimal, ...]) -> str:
    """The countries of long numbers; empty where there is none."""
    told = []
    for what, numbers in (
        ("Ear tags", [a.national or a.tag for a in animals]),
        ("Electronic numbers", [a.electronic_id or "" for a in animals]),
    ):
        counted = Counter(country for number in numbers if (country := country_of(number)))
        if counted:
            named = ", ".join(f"{country} {count}" for country, count in counted.most_common())
            told.append(f"{what}: {named}.")
    return " ".join(told)


def _passed_over(rows: tuple[tuple[int, str], ...]) -> str:
    shown = "; ".join(f"line {line} ({words})" for line, words in rows[:ROWS_NAMED])
    more = f"; and {len(rows) - ROWS_NAMED} more" if len(rows) > ROWS_NAMED else ""
    return f"No animal of their own, and passed over: {plain(shown).plain}{more}."


def _shown(sheet: Sheet, found: Recognised, layout: Layout, said: bool) -> RenderableType:
    first, last = Column("column", ratio=1), Column("for example", ratio=1)
    columns = (first, Column("read as", no_wrap=True), last)
    table = Table(*columns, box=box.SIMPLE_HEAD, expand=True, padding=(0, 1))
    for place, (heading, name) in enumerate(layout.columns):
        words = Text("not read", "dim") if name is None else Text(name, "bold")
        table.add_row(plain(heading), words, plain(_examples(sheet, found, place)))
    orders = [layout.date_order] if said or DateOrder.ISO in found.orders else sorted(found.orders)
    dates = " or ".join(_ORDER_WORDS[order] for order in orders) or "in more than one order"
    lines = [f"Header on line {found.header_line}. Dates: {dates}."]
    if layout.encoding is not None and layout.delimiter is not None:
        parted = _DELIMITER_WORDS.get(layout.delimiter, layout.delimiter)
        lines.append(f"Letters: {layout.encoding}. Columns parted by: {parted}.")
    return Group(table, *(Text(line) for line in lines))


def _examples(sheet: Sheet, found: Recognised, place: int) -> str:
    cells = (
        cells[place]
        for line, cells in sheet.rows
        if line > found.header_line and place < len(cells) and cells[place]
    )
    return ", ".join(list(dict.fromkeys(cells))[:EXAMPLES_SHOWN])
