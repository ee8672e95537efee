"""``hornsweep import``: taking in what other programs, or a spreadsheet, hold. One file a kind."""

from __future__ import annotations

import click

from dictation.cli.app import LazyGroup

KINDS: dict[str, tuple[str, str]] = {
    "herd": ("dictation.cli.importing.herd", "A herd list of any form, looked at and confirmed."),
    "visit": ("dictation.cli.importing.visit", "A visit out of exams.csv and findings.csv."),
}
"""What can be taken in: the module that holds it as ``command``, and one line for --help."""


@click.group(cls=LazyGroup, lazy=KINDS, epilog="Example: hornsweep import herd farm/cows.csv")
def command() -> None:
    """Take in a herd list, or a visit that was exported as CSV."""
