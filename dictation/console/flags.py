"""Every flag of a visit with its figures and its source, and the queries that wait."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from rich.console import Group, RenderableType
from rich.table import Table
from rich.text import Text

from dictation.console.safe import plain
from dictation.console.screen import SEVERITY_STYLE
from dictation.session.visit import Visit
from grammar.exam import Exam, Flag
from grammar.history import MissedRecheck


def flags_table(visit: Visit, flags: Mapping[int, tuple[Flag, ...]]) -> RenderableType:
    """Flags exam by exam."""
    parts: list[RenderableType] = []
    for exam in visit.exams:
        raised = flags.get(exam.number, ())
        if not raised and not exam.open_queries:
            continue
        parts.append(plain(f"exam {exam.number}  {_tag(exam)}", "bold"))
        parts.append(_lines(exam, raised))
    return Group(*parts) if parts else Text("No flag, and nothing asked.")


def _tag(exam: Exam) -> str:
    return f"tag {exam.tag}" if exam.tag else "no tag"


def _lines(exam: Exam, raised: tuple[Flag, ...]) -> RenderableType:
    lines = Table.grid(padding=(0, 1))
    lines.add_column(no_wrap=True, width=8)
    lines.add_column()
    for question in exam.open_queries:
        lines.add_row(Text(" ASKED ", "bold yellow"), plain(question))
    for flag in raised:
        word = Text(f" {str(flag.severity).upper()} ", SEVERITY_STYLE[flag.severity])
        lines.add_row(word, plain(flag.why))
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
