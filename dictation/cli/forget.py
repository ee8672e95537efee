"""``hornsweep forget``: sound and words that need not be kept are removed for good."""

from __future__ import annotations

import getpass
from pathlib import Path

import click

from dictation.console.terminal import sentence
from dictation.errors import HornsweepError, WrongUseError
from dictation.intake.forget import forget, is_older
from dictation.records.practice.gathering import visit_folders


@click.command(epilog="Example: hornsweep forget visits --sound --older-than 365")
@click.argument("folder", metavar="DIR", type=click.Path(path_type=Path))
@click.option("--sound", is_flag=True, help="All sound; words and findings stay.")
@click.option("--phrase", type=int, help="Sound and words of one phrase; its findings stay.")
@click.option("--all", "everything", is_flag=True, help="All but animals that were approved.")
@click.option(
    "--older-than",
    "days",
    type=click.IntRange(0),
    help="Only of visits longer ago than so many days; DIR may hold many visits then.",
)
@click.option("--who", help="Who has it removed; your name on this machine if not given.")
@click.option("--yes", is_flag=True, help="Do it without being asked.")
def command(  # noqa: PLR0913, PLR0917 - one an option
    folder: Path,
    sound: bool,
    phrase: int | None,
    everything: bool,
    days: int | None,
    who: str | None,
    yes: bool,
) -> None:
    """Remove sound or words of a visit for good; that it was done, and by whom, stays on record.

    Without an option, what was said while paused and what was refused as talk. The number of a
    phrase is that of its file in audio/. The record of an animal that somebody approved is never
    removed, nor are its notes. Copies of the folder and exported files are not reached.
    """
    if sound + everything + (phrase is not None) > 1:
        raise WrongUseError("Give one of --sound, --phrase and --all.")
    what = "sound" if sound else "all" if everything else "talk" if phrase is None else "phrase"
    folders = _meant(folder, what, days)
    name = who or getpass.getuser()
    question = f"Remove for good, from {len(folders)} visits? It cannot be taken back."
    if not folders or not (yes or click.confirm(question, err=True)):
        sentence("Nothing was removed.")
        return
    for each in folders:
        forget(each, what, name, sentence, phrase)


def _meant(folder: Path, what: str, days: int | None) -> tuple[Path, ...]:
    if days is None:
        return (folder,)
    if what == "phrase":
        raise WrongUseError("--phrase is about one visit: leave --older-than away.")
    found: list[Path] = []
    for each in visit_folders((folder,)):
        try:
            found += [each] if is_older(each, what, days) else []
        except HornsweepError as error:
            sentence(f"{error} It is passed over.")
    return tuple(found)
