"""The list of all rules, each with what it asks and who says so."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import groupby

from rich.console import Group, RenderableType
from rich.table import Table
from rich.text import Text

from dictation.console.safe import plain
from dictation.console.screen import SEVERITY_STYLE
from grammar.checks import Rule


def rules_table(rules: Iterable[Rule]) -> RenderableType:
    """Rules by family, in the order in which their flags come out."""
    parts: list[RenderableType] = []
    for family, members in groupby(rules, key=lambda rule: rule.family):
        parts.append(plain(family, "bold"))
        lines = Table.grid(padding=(0, 1))
        lines.add_column(no_wrap=True, width=8)
        lines.add_column()
        for rule in members:
            word = Text(f" {str(rule.severity).upper()} ", SEVERITY_STYLE[rule.severity])
            lines.add_row(word, plain(f"{rule.identifier}: {rule.description}"))
            lines.add_row("", plain(f"source: {rule.source}", "dim"))
        parts.append(lines)
    return Group(*parts)
