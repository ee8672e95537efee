"""What all screens share: text for a width, flags, and the words beside the colours.

Nothing is read from the terminal or the clock: width and colour are given.
"""

from __future__ import annotations

import io
from typing import Any

from rich.console import Console, RenderableType
from rich.table import Column, Table
from rich.text import Text

from dictation.console.safe import plain
from dictation.decide.people.signing import signed
from dictation.visit.parts import Fate
from dictation.visit.state import Visit
from grammar.exam import Exam, Flag, Severity

_GRAVEST_FIRST = (Severity.STOP, Severity.QUERY, Severity.NOTE)

_SEVERITY_STYLE = {
    Severity.STOP: "bold white on red",
    Severity.QUERY: "bold black on yellow",
    Severity.NOTE: "bold cyan",
}

FATE_STYLES = {
    Fate.ASKED: "bold yellow",
    Fate.PAUSED: "bold magenta",
    **dict.fromkeys((Fate.REFUSED, Fate.SILENT, Fate.JOINED), "dim"),
}
"""Of the words in ``IN_A_WORD``; of the others green."""


def render(parts: RenderableType, width: int, colour: bool) -> str:
    """Rich parts as text of a width. Without ``colour`` it holds no escape sequence at all."""
    out = io.StringIO()
    console = Console(
        file=out,
        width=width,
        force_terminal=colour,
        color_system="standard" if colour else None,
        highlight=False,
        markup=False,
        emoji=False,
        legacy_windows=False,
    )
    console.print(parts)
    lines = out.getvalue().splitlines()
    return "\n".join(line.rstrip() for line in lines) + "\n"


def severity_word(severity: Severity) -> Text:
    """How grave, as a word in its colour."""
    return Text(f" {str(severity).upper()} ", _SEVERITY_STYLE[severity])


def gravest_first(flags: tuple[Flag, ...]) -> list[Flag]:
    """Flags in the order in which they matter."""
    return sorted(flags, key=lambda flag: _GRAVEST_FIRST.index(flag.severity))


def two_ends(left: Text, right: Text, **column: Any) -> Table:
    """A row of a text at each end of the width. ``column``: of both, as rich takes it."""
    row = Table.grid(Column(**column), Column(justify="right", **column), expand=True)
    row.add_row(left, right)
    return row


def two_columns(width: int | None = None) -> Table:
    """A grid for a short word and what stands beside it."""
    return Table.grid(Column(no_wrap=True, width=width), Column(), padding=(0, 1))


def flag_lines(flags: tuple[Flag, ...]) -> RenderableType:
    """Flags, gravest first, each with its severity in words."""
    lines = two_columns()
    for flag in gravest_first(flags):
        lines.add_row(severity_word(flag.severity), plain(flag.why))
    return lines


def exam_head(visit: Visit, exam: Exam) -> str:
    """Which animal it is, and who stands for it."""
    tag = f"tag {exam.tag}" if exam.tag else "no tag"
    return f"exam {exam.number}  {tag}  {signed(visit, exam.number)}".rstrip()
