"""``hornsweep import herd``: how a farm's list is to be read, shown, confirmed and kept."""

from __future__ import annotations

from pathlib import Path

import click
from rich import box
from rich.console import Group, RenderableType
from rich.table import Table
from rich.text import Text

from dictation.console.safe import plain
from dictation.console.screen import render
from dictation.console.terminal import colour, sentence, width
from dictation.errors import WrongUseError
from dictation.records.herd.layout import (
    DateOrder,
    Layout,
    Recognised,
    is_column,
    keep_layout,
    recognise,
)
from dictation.records.herd.sheet import Sheet, content_of
from dictation.records.herd_list import read_herd_list, sheet_of

EXAMPLES_SHOWN = 3
_DELIMITER_WORDS = {",": "comma", ";": "semicolon", "\t": "tab", "|": "upright bar"}
_ORDER_WORDS = {
    DateOrder.ISO: "year-month-day (2026-11-18)",
    DateOrder.DAY_FIRST: "day first (18/11/2026)",
    DateOrder.MONTH_FIRST: "month first (11/18/2026)",
}


@click.command(
    epilog="Example: hornsweep import herd farm/cows.csv --column 'Last AI=service_1'"
    " --date-order dmy --yes"
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
def command(path: Path, said: tuple[str, ...], date_order: str | None, yes: bool) -> None:
    """Show how a herd list will be read; once confirmed, keep it for the lists of its folder.

    CSV and XLSX of any form. A list in JSON of the Animal Data Exchange standard, or in hornsweep's
    own form, needs no import.
    """
    if path.suffix.lower() == ".json":
        count = len(read_herd_list(path).animals)
        sentence(f"{path}: {count} animals, in the standard's JSON; it can be used as it is.")
        return
    sheet = sheet_of(path, content_of(path))
    found = recognise(sheet, _columns_said(said))
    layout = _with_order(found, None if date_order is None else DateOrder(date_order))
    click.echo(render(_shown(sheet, found, layout), width(), colour()), nl=False)
    _stop_if_not_clear(found, layout, date_order)
    animals = read_herd_list(path, layout).animals
    if not yes and not click.confirm(f"{len(animals)} animals. Is this right?", err=True):
        sentence("Nothing was kept: name what is wrong with --column or --date-order.")
        return
    kept = keep_layout(path, layout)
    sentence(f"{len(animals)} animals; lists in {path.parent} are read so from now on ({kept}).")


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


def _with_order(found: Recognised, order: DateOrder | None) -> Layout:
    layout = found.layout
    return Layout(layout.columns, order or layout.date_order, layout.encoding, layout.delimiter)


def _stop_if_not_clear(found: Recognised, layout: Layout, date_order: str | None) -> None:
    """Where a person must say something first, nothing is asked that could be answered by habit."""
    if "tag" not in layout.names.values():
        raise WrongUseError("No column was recognised as the tag: name it with --column.")
    slashed = found.orders - {DateOrder.ISO}
    if date_order is None and DateOrder.ISO not in found.orders and len(slashed) > 1:
        raise WrongUseError(
            "Every date fits day first and month first: say which with --date-order dmy or mdy."
        )


def _shown(sheet: Sheet, found: Recognised, layout: Layout) -> RenderableType:
    table = Table(box=box.SIMPLE_HEAD, expand=True, padding=(0, 1))
    table.add_column("column", ratio=1)
    table.add_column("read as", no_wrap=True)
    table.add_column("for example", ratio=1)
    for place, (heading, name) in enumerate(layout.columns):
        words = Text("not read", "dim") if name is None else Text(name, "bold")
        table.add_row(plain(heading), words, plain(_examples(sheet, found, place)))
    lines = [f"Header on line {found.header_line}. Dates: {_ORDER_WORDS[layout.date_order]}."]
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
