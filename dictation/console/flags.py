"""Every flag of a visit with its figures and its source, the queries that wait, and all rules."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import groupby

from rich.console import Group, RenderableType
from rich.table import Table
from rich.text import Text

from dictation.console.safe import plain
from dictation.console.screen import exam_head, severity_word, two_columns
from dictation.decide.record import Flags
from dictation.visit.state import Visit
from grammar.checks import Rule
from grammar.exam import Exam, Flag
from grammar.history import MissedRecheck


def flags_table(visit: Visit, flags: Flags) -> RenderableType:
    """Flags exam by exam."""
    parts: list[RenderableType] = []
    for exam in visit.exams:
        raised = flags.get(exam.number, ())
        if not raised and not exam.open_queries:
            continue
        parts.append(plain(exam_head(visit, exam), "bold"))
        parts.append(_lines(exam, raised))
    return Group(*parts) if parts else Text("No flag, and nothing asked.")


def _lines(exam: Exam, raised: tuple[Flag, ...]) -> RenderableType:
    lines = two_columns(8)
    for question in exam.open_queries:
        lines.add_row(Text(" ASKED ", "bold yellow"), plain(question))
    for flag in raised:
        lines.add_row(severity_word(flag.severity), plain(flag.why))
        figures = ", ".join(f"{name} {value}" for name, value in flag.figures)
        lines.add_row("", plain(f"{flag.rule}: {figures}" if figures else flag.rule, "dim"))
        lines.add_row("", plain(f"source: {flag.source}", "dim"))
    return lines


def missed_table(missed: Sequence[MissedRecheck]) -> RenderableType:
    """Rechecks that an earlier visit asked for and nobody did."""
    lines = Table.grid(padding=(0, 2))
    for recheck in missed:
        lines.add_row(
            plain(f"tag {recheck.tag}"),
            plain(f"due {recheck.due_on.isoformat()}"),
            plain(f"asked for on {recheck.asked_on.isoformat()}"),
        )
    return Group(plain("Rechecks asked for and not done", "bold"), lines)


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
