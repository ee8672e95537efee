"""``hornsweep animal``: one animal over all visits, and words looked for in them."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import click
from rich import box
from rich.console import Group
from rich.table import Table

from dictation.console.safe import plain
from dictation.console.terminal import sentence, show
from dictation.disk import replace_file
from dictation.errors import BadInputError, HornsweepError, WrongUseError
from dictation.intake.reading import read_visit
from dictation.records.animal_history import exams_of, over_visits, plots, search
from dictation.records.plain_page import PlainTable, plain_page
from dictation.records.practice.gathering import visit_folders
from dictation.visit.state import Visit

PATH = click.Path(path_type=Path)


@click.command(epilog="Example: hornsweep animal 837 --visits visits")
@click.argument("tag", metavar="[TAG]", required=False)
@click.option("--visits", required=True, type=PATH, help="Folder of visits.")
@click.option("--find", "wanted", help="Words to look for in tags, findings and what was heard.")
@click.option("--page", type=PATH, help="Write it as a page (HTML) too.")
def command(tag: str | None, visits: Path, wanted: str | None, page: Path | None) -> None:
    """Show every visit of one animal: findings, sizes and ages over time, what changed since.

    With --find, what was said and recorded of her, or of any animal where no TAG is given.
    """
    if not visits.is_dir():
        raise BadInputError(f"{visits} is no folder of visits: check its name.")
    if tag is None and not wanted:
        raise WrongUseError("Give a tag, or words with --find.")
    read = tuple(_read(visits))
    seen = exams_of(read, tag) if tag is not None else ()
    if tag is not None and not seen:
        raise BadInputError(f"Tag {tag} is in none of the {len(read)} visits of {visits}.")
    tables = (search(read, wanted, tag),) if wanted else over_visits(seen)
    title = " ".join(filter(None, (tag and f"Tag {tag}", wanted and f"'{wanted}'")))
    title = f"{title}: {len(tables[0].rows)} in {len(read)} visits"
    show(Group(plain(title, "bold"), *(_shown(table) for table in tables if table.rows)))
    if page is not None:
        notes = ("What was recorded at each visit; the vet decides.",)
        html = plain_page(title, notes, tables, () if wanted else plots(seen))
        replace_file(page, html.encode("utf-8"))
        sentence(f"Written: {page}")


def _read(folder: Path) -> Iterator[Visit]:
    for each in visit_folders((folder,)):
        try:
            yield read_visit(each)[0]
        except HornsweepError as error:
            sentence(str(error))


def _shown(told: PlainTable) -> Table:
    table = Table(*told.columns, box=box.SIMPLE_HEAD, padding=(0, 1), expand=True)
    for row in told.rows:
        table.add_row(*map(plain, row))
    return table
