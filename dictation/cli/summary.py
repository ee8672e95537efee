"""``hornsweep summary``: what a practice's many visits say together."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path

import click
from rich import box
from rich.console import Group, RenderableType
from rich.table import Column, Table
from rich.text import Text

from dictation.console.safe import plain
from dictation.console.terminal import bar, sentence, show, show_json
from dictation.errors import BadInputError
from dictation.records.practice.gathering import Gathered, gather, visit_folders
from dictation.records.practice.shares import Share
from dictation.records.practice.summary import Counted, Summary, summarise_practice

CAUTION = (
    "Each interval holds the true share nineteen times in twenty, if these animals are like others."
    " Groups that overlap cannot be told apart; season, parity and herd are not reckoned with."
)

GROUPS = {
    "by_service": "In calf, by number of the service",
    "by_sire": "In calf, by sire",
    "by_inseminator": "In calf, by inseminator",
    "losses": "Lost, of pregnancies looked at again, by age at the first look",
}
"""What is counted group by group: its name in ``Summary`` and JSON, and its title."""


@click.command(epilog="Example: hornsweep summary visits-2025 visits-2026")
@click.argument("roots", metavar="DIR...", nargs=-1, required=True, type=click.Path(path_type=Path))
@click.option("--json", "as_json", is_flag=True, help="One JSON object.")
@click.option("--afresh", is_flag=True, help="Fold every journal anew; keep nothing.")
def command(roots: tuple[Path, ...], as_json: bool, afresh: bool) -> None:
    """Sum up visits: DIR is a visit, or a folder that holds visits at any depth."""
    for root in roots:
        if not root.is_dir():
            raise BadInputError(f"{root} is no folder: check its name.")
    folders = visit_folders(roots)
    if not folders:
        raise BadInputError(f"{', '.join(map(str, roots))}: no visit lies in there.")
    with bar("reading visits") as progress:
        gathered = gather(folders, progress.show, afresh)
    for words in gathered.left_out:
        sentence(f"Left out: {words}")
    summary = summarise_practice(gathered.visits)
    if as_json:
        show_json(_record(gathered, summary))
    else:
        show(_shown(gathered, summary))


def _record(gathered: Gathered, summary: Summary) -> dict[str, object]:
    agreement = summary.agreement
    return {
        "visits": len(gathered.visits),
        "left_out": list(gathered.left_out),
        "exams": summary.exams,
        "animals": summary.animals,
        "in_calf": _share(summary.in_calf),
        **{
            name: [{"group": each.group, **_share(each.share)} for each in getattr(summary, name)]
            for name in GROUPS
        },
        "stated_less_measured": None
        if agreement is None
        else asdict(agreement)
        | {"low": agreement.low, "high": agreement.high, "within": _share(agreement.within)},
        "asked": _share(summary.asked),
        "unsettled": _share(summary.unsettled),
    }


def _share(share: Share) -> dict[str, object]:
    low, high = share.interval or (None, None)
    return asdict(share) | {"share": share.value, "low": low, "high": high}


def _shown(gathered: Gathered, summary: Summary) -> RenderableType:
    head = f"{len(gathered.visits)} visits, {summary.exams} exams, {summary.animals} animals"
    parts: list[RenderableType] = [Text(head, "bold")]
    parts.append(_table("In calf, of services checked", (Counted("all", summary.in_calf),)))
    for name, title in GROUPS.items():
        if groups := getattr(summary, name):
            parts.append(_table(title, groups))
    parts.append(Text(_agreement(summary)))
    asked = Counted("anything was asked about", summary.asked)
    unsettled = Counted("something is still open", summary.unsettled)
    parts.append(_table("Exams in which", (asked, unsettled)))
    parts.append(Text(CAUTION, "dim"))
    return Group(*parts)


def _table(title: str, groups: tuple[Counted, ...]) -> RenderableType:
    figures = (Column(head, justify="right") for head in ("of", "share", "interval"))
    table = Table(
        Column(min_width=24),
        *figures,
        title=Text(title),
        title_justify="left",
        box=box.SIMPLE_HEAD,
        padding=(0, 1),
    )
    for each in groups:
        share, (low, high) = each.share, each.share.interval or (0.0, 1.0)
        words = () if share.value is None else (f"{share.value:.0%}", f"{low:.0%} to {high:.0%}")
        table.add_row(plain(each.group), f"{share.hits} / {share.total}", *words)
    return table


def _agreement(summary: Summary) -> str:
    both = summary.agreement
    if both is None:
        return "Stated and measured age: fewer than two pregnancies had both."
    return (
        f"Stated less measured age, {both.pairs} pregnancies: on average {both.mean_days:+.1f}"
        f" days, nineteen in twenty from {both.low:+.1f} to {both.high:+.1f}; within the error of"
        f" the measured age {both.within.hits} of {both.within.total}."
    )
