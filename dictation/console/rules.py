"""The list of all rules, each with what it asks and who says so."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import groupby

from rich.console import Group, RenderableType

from dictation.console.safe import plain
from dictation.console.screen import severity_word, two_columns
from grammar.checks import Rule


def rules_table(rules: Iterable[Rule]) -> RenderableType:
    """Rules by family, in the order in which their flags come out."""
    parts: list[RenderableType] = []
    for family, members in groupby(rules, key=lambda rule: rule.family):
        parts.append(plain(family, "bold"))
        lines = two_columns(8)
        for rule in members:
            told = plain(f"{rule.identifier}: {rule.description}")
            lines.add_row(severity_word(rule.severity), told)
            lines.add_row("", plain(f"source: {rule.source}", "dim"))
        parts.append(lines)
    return Group(*parts)
