"""``hornsweep say``: what can be said of what, on one sheet for the crush."""

from __future__ import annotations

import textwrap

import click

from dictation.console.sheet import Heading, sheet
from dictation.console.terminal import show_json

WIDE, LINES = 110, 72
"""What one sheet of A4 holds, upright, in letters of 8 points."""
FORMS_SHOWN = 2
REMARKS_SHOWN = 16
"""Of each thing on the sheet, so that it stays one; ``--all`` lists the rest."""


@click.command(epilog="Example: hornsweep say > sheet.txt")
@click.option("--all", "every", is_flag=True, help="Every way of saying a thing; several pages.")
@click.option("--json", "as_json", is_flag=True, help="One JSON array, an element a heading.")
def command(every: bool, as_json: bool) -> int:
    """List what can be said of what, your own words with it; one sheet, to be printed."""
    headings = sheet()
    if as_json:
        show_json([heading_record(heading) for heading in headings])
    else:
        shown = None if every else FORMS_SHOWN
        click.echo("\n".join(line for each in headings for line in heading_lines(each, shown)))
    return 0


def heading_record(heading: Heading) -> dict[str, object]:
    """A heading for --json: examples, and every form of each thing."""
    words = [{"means": means, "forms": list(forms)} for means, forms in heading.words]
    return {"of": heading.of, "examples": list(heading.examples), "words": words}


def heading_lines(heading: Heading, shown: int | None = FORMS_SHOWN) -> list[str]:
    """A heading as lines of the sheet; ``shown``: most forms of a thing, None for all."""
    words = ", ".join(_forms(means, forms, shown) for means, forms in heading.words)
    examples = "; ".join(heading.examples)
    told = f"{heading.of.upper()}: {examples}."
    lines = textwrap.wrap(told, WIDE, subsequent_indent="  ")
    return lines + textwrap.wrap(words, WIDE, initial_indent="  ", subsequent_indent="  ")


def _forms(means: str, forms: tuple[str, ...], shown: int | None) -> str:
    if means == "remark_words":  # each of them is a thing of its own
        return ", ".join(forms if shown is None else forms[:REMARKS_SHOWN])
    return " / ".join(forms[:shown])
