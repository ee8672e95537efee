"""``hornsweep parse``: typed words instead of sound."""

from __future__ import annotations

from datetime import date

import click

from dictation.console.safe import safe
from dictation.console.terminal import show_json
from grammar.explain import Explanation, explain
from grammar.findings import Command, Finding, Reading, finding_record, plain
from grammar.parse import parse
from grammar.partly import Part, part_of
from grammar.wording import written


@click.command(epilog="Example: hornsweep parse 'left ovary CL twenty-two, follicle nine'")
@click.argument("phrases", nargs=-1, required=True)
@click.option("--json", "as_json", is_flag=True, help="One JSON array, an element a phrase.")
@click.option(
    "--explain", "explained", is_flag=True, help="How each phrase is read, piece by piece."
)
@click.option("--strict", is_flag=True, help="Exit with 1 if a phrase cannot be read.")
def command(phrases: tuple[str, ...], as_json: bool, explained: bool, strict: bool) -> int:
    """Read phrases: the findings in them, or where and why they cannot be read."""

    readings = [parse(phrase, date.today()) for phrase in phrases]
    if as_json:
        show_json([reading_record(reading) for reading in readings])
    else:
        for reading in readings:
            lines = reading_lines(reading)
            if explained:
                lines += explained_lines(explain(reading.phrase, date.today()))
            click.echo("\n".join(safe(line) for line in lines))
    doubtful = any(reading.unread or reading.others for reading in readings)
    return 1 if strict and doubtful else 0


def reading_record(reading: Reading) -> dict[str, object]:
    """A reading as ``parse --json`` writes it."""
    unread = reading.unread
    return {
        "phrase": reading.phrase,
        "findings": [finding_record(finding) for finding in reading.findings],
        "command": None if reading.command is None else command_record(reading.command),
        "unread": None if unread is None else {"at": unread.at, "why": unread.sentence},
        "part": part_record(part_of(reading, date.today())),
        "others": [
            [finding_record(s.what) for s in other if not isinstance(s.what, Command)]
            for other in reading.others
        ],
    }


def part_record(part: Part | None) -> dict[str, object] | None:
    """What could be read of an unread phrase, and the words that could not."""
    if part is None:
        return None
    findings = [finding_record(s.what) for s in part.said if not isinstance(s.what, Command)]
    return {"findings": findings, "rest": part.rest, "product": part.product}


def command_record(spoken: Command) -> dict[str, object]:
    """A command with its fields; null where nothing was said."""
    return {
        "command": str(spoken.name),
        "animal": None if spoken.animal is None else finding_record(spoken.animal),
        "number": spoken.number,
        "side": plain(spoken.side),
        "answer": plain(spoken.answer),
        "instead_of": spoken.instead_of,
        "other_side": spoken.other_side,
    }


def reading_lines(reading: Reading) -> list[str]:
    """A reading for a person."""
    lines = [reading.phrase]
    if reading.unread is not None:
        here = " " * reading.unread.at + "^ here"
        told = (f"not read: {reading.unread.sentence}", reading.normal, here)
        lines += (f"  {line}" for line in told)
        part = part_of(reading, date.today())
        if part is not None:
            words = "; ".join(_one(said.what) for said in part.said)
            lines.append(f"  asked about: {words}; kept as words: '{part.rest}'")
        if part is not None and part.product is not None:
            lines.append(f"  which class of treatment is '{part.product}'?")
        return lines
    lines += [f"  {_one(said.what)}" for said in reading.said]
    for other in reading.others:
        lines.append("  or: " + "; ".join(_one(said.what) for said in other))
    return lines


def explained_lines(explanation: Explanation) -> list[str]:
    """The words as they were read, what each piece is, and what could come next."""
    lines = [f"  words: {explanation.reading.normal}"]
    width = max((len(piece.words) for piece in explanation.pieces), default=0)
    for piece in explanation.pieces:
        own = " (your own word)" if piece.own else ""
        lines.append(f"    {piece.words:<{width}}  {piece.rule.replace('_', ' ')}{own}")
    unread = explanation.reading.unread is not None
    if explanation.next_words:
        where = "could stand there" if unread else "could come next"
        lines.append(f"  {where}: {', '.join(explanation.next_words)}")
    return lines


def _one(what: Finding | Command) -> str:
    if isinstance(what, Command):
        fields = command_record(what)
        told = ", ".join(f"{name} {value}" for name, value in fields.items() if value is not None)
        return told.replace("command ", "command: ", 1)
    return written(what)
