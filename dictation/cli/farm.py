"""``hornsweep farm``: the farms of a practice, so that nothing has to be typed twice."""

from __future__ import annotations

from pathlib import Path

import click

from dictation.console.safe import safe
from dictation.console.terminal import sentence
from dictation.errors import WrongUseError
from dictation.records.farms import Farm, farm_named, farms, keep_farm
from dictation.records.herd_list import read_herd_list


@click.command(
    epilog="Example: hornsweep farm larkmoor --called 'Larkmoor Crossing' --herd cows.xlsx"
    " --visits visits/larkmoor"
)
@click.argument("name", required=False)
@click.option("--called", help="Name of the farm on lists.")
@click.option("--herd", type=click.Path(path_type=Path), help="Its herd list.")
@click.option("--visits", type=click.Path(path_type=Path), help="Folder of its visits.")
def command(name: str | None, called: str | None, herd: Path | None, visits: Path | None) -> None:
    """Register a farm, or change it; without options, show it; without a name, list all.

    Then 'hornsweep listen --farm NAME', 'plan --farm NAME' and 'export --farm NAME' know its herd
    list, its earlier visits, and where the new one goes.
    """
    if name is None:
        for farm in farms().values():
            click.echo(_line(farm))
        return
    known = farms().get(name)
    if called is None and herd is None and visits is None:
        click.echo(_line(farm_named(name)))
        return
    if known is None and visits is None:
        raise WrongUseError("A new farm wants --visits: the folder where its visits are to lie.")
    if herd is not None:
        read_herd_list(herd)
    farm = Farm(
        name,
        called or (name if known is None else known.called),
        herd.resolve() if herd is not None else None if known is None else known.herd,
        visits.resolve() if visits is not None else known.visits if known is not None else Path(),
    )
    sentence(f"{_line(farm)} ({keep_farm(farm)})")


def _line(farm: Farm) -> str:
    herd = "no herd list" if farm.herd is None else str(farm.herd)
    seen = f"{len(farm.earlier)} visits in {farm.visits}"
    return safe(f"{farm.name}: {farm.called}; {herd}; {seen}")
