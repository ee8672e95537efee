"""``hornsweep animal``: one animal over all visits, and words looked for in them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict
from pathlib import Path

import click
from rich import box
from rich.console import Group, RenderableType
from rich.table import Table

from dictation.console.safe import plain
from dictation.console.terminal import sentence, show, show_json
from dictation.disk import replace_file
from dictation.errors import BadInputError, HornsweepError, WrongUseError
from dictation.intake.reading import read_visit
from dictation.records.animal_history import Hit, Seen, animal_history, plots, search
from dictation.records.plain_page import PlainTable, plain_page
from dictation.records.practice.gathering import visit_folders
from dictation.visit.state import Visit

COLUMNS = ("visit", "farm", "status", "days", "due", "new since last time", "no longer", "signed")


@click.command(epilog="Example: hornsweep animal 837 --visits visits")
@click.argument("tag", metavar="[TAG]", required=False)
@click.option(
    "--visits",
    required=True,
    type=click.Path(path_type=Path),
    help="Folder of visits.",
)
@click.option("--find", "wanted", help="Words to look for in tags, findings and what was heard.")
@click.option("--page", type=click.Path(path_type=Path), help="Write it as a page (HTML) too.")
@click.option("--json", "as_json", is_flag=True, help="One JSON array.")
def command(
    tag: str | None, visits: Path, wanted: str | None, page: Path | None, as_json: bool
) -> None:
    """Show every visit of one animal: findings, sizes and ages over time, what changed since.

    With --find, what was said and recorded of her, or of any animal where no TAG is given.
    """
    if not visits.is_dir():
        raise BadInputError(f"{visits} is no folder of visits: check its name.")
    if tag is None and not wanted:
        raise WrongUseError("Give a tag, or words with --find.")
    read = tuple(_read(visits))
    if wanted:
        hits = [hit for hit in search(read, wanted) if tag in (None, hit.tag)]
        title = f"'{wanted}': {len(hits)} found in {len(read)} visits"
        tables: tuple[PlainTable, ...]
        tables = (PlainTable("", ("visit", "farm", "tag", "words"), tuple(map(_cells, hits))),)
        record = [{**asdict(hit), "on": hit.on.isoformat()} for hit in hits]
        _tell(title, tables, as_json, record, page, ())
        return
    seen = animal_history(read, tag or "")
    if not seen:
        raise BadInputError(f"Tag {tag} is in none of the {len(read)} visits of {visits}.")
    rows = tuple(_row(each) for each in seen)
    tables = (PlainTable("", COLUMNS, rows), PlainTable("Numbers", *_numbers(seen)))
    _tell(f"Tag {tag}, {len(seen)} visits", tables, as_json, [_record(e) for e in seen], page, seen)


def _read(folder: Path) -> Iterator[Visit]:
    for each in visit_folders((folder,)):
        try:
            yield read_visit(each)[0]
        except HornsweepError as error:
            sentence(str(error))


def _tell(  # noqa: PLR0913, PLR0917 - one an ending of the command
    title: str,
    tables: tuple[PlainTable, ...],
    as_json: bool,
    record: object,
    page: Path | None,
    seen: tuple[Seen, ...],
) -> None:
    if as_json:
        show_json(record)
    else:
        parts: list[RenderableType] = [plain(title, "bold")]
        parts += [_shown(table) for table in tables if table.rows]
        show(Group(*parts))
    if page is not None:
        notes = ("What was recorded at each visit; the vet decides.",)
        replace_file(page, plain_page(title, notes, tables, plots(seen)).encode("utf-8"))
        sentence(f"Written: {page}")


def _shown(told: PlainTable) -> RenderableType:
    table = Table(*told.columns, box=box.SIMPLE_HEAD, padding=(0, 1), expand=True)
    for row in told.rows:
        table.add_row(*map(plain, row))
    return table


def _row(seen: Seen) -> tuple[str, ...]:
    days = "" if seen.age_days is None else f"{seen.age_days:g}"
    new = seen.came if seen.came or seen.went else seen.words
    due = "" if seen.due is None else seen.due.isoformat()
    changed = (", ".join(new), ", ".join(seen.went))
    return (seen.on.isoformat(), seen.farm, seen.status, days, due, *changed, seen.signed)


def _numbers(seen: tuple[Seen, ...]) -> tuple[tuple[str, ...], tuple[tuple[str, ...], ...]]:
    """What was measured, a row each, and a column a visit."""
    names = dict.fromkeys(name for each in seen for name, _ in each.numbers)
    rows = tuple(
        (name, *("; ".join(f"{v:g}" for n, v in each.numbers if n == name) for each in seen))
        for name in names
    )
    return ("measured", *(each.on.isoformat() for each in seen)), rows


def _cells(hit: Hit) -> tuple[str, ...]:
    return hit.on.isoformat(), hit.farm, hit.tag or f"exam {hit.exam}", hit.words


def _record(seen: Seen) -> dict[str, object]:
    return {
        "on": seen.on.isoformat(),
        "farm": seen.farm or None,
        "exam": seen.exam.number,
        "status": str(seen.status),
        "age_days": seen.age_days,
        "due_date": None if seen.due is None else seen.due.isoformat(),
        "findings": list(seen.words),
        "numbers": dict(seen.numbers),
        "new": list(seen.came),
        "gone": list(seen.went),
        "signed": seen.signed,
    }
