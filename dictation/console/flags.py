"""The flags of a visit with their figures, the queries that wait, and all the rules."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import groupby

from rich.console import Group, RenderableType
from rich.table import Table
from rich.text import Text

from dictation.console.safe import plain
from dictation.console.screen import exam_head, gravest_first, severity_word, two_columns
from dictation.decide.record import Flags
from dictation.visit.state import Visit
from grammar.checks import ONCE_A_VISIT, Rule
from grammar.exam import Exam, Flag, Severity
from grammar.history import MissedRecheck
from grammar.wording import spaced


def flags_table(visit: Visit, flags: Flags, notes: bool = False) -> RenderableType:
    """What is asked and what must be settled, exam by exam; then the notes, counted or in full.

    Cautions of the whole visit are always in full. Sources stand with the rules.
    """
    loud: list[RenderableType] = []
    quiet = Table.grid(padding=(0, 2))
    cautions: list[Flag] = []
    for exam in visit.exams:
        raised = flags.get(exam.number, ())
        cautions += (flag for flag in raised if flag.rule in ONCE_A_VISIT)
        noted = [f for f in raised if f.severity is Severity.NOTE and f.rule not in ONCE_A_VISIT]
        shown = [f for f in gravest_first(raised) if f.severity is not Severity.NOTE]
        shown += noted if notes else []
        if shown or exam.open_queries:
            loud += [plain(exam_head(visit, exam), "bold"), _lines(exam, shown)]
        if noted and not notes:
            count = f"{len(noted)} {'note' if len(noted) == 1 else 'notes'}"
            quiet.add_row(plain(count), plain(_called(exam)), plain(_rules(noted), "dim"))
    parts = [*loud, *([quiet] if quiet.row_count else [])]
    parts += [plain(f"For the whole visit: {flag.why}") for flag in cautions]
    return Group(*parts) if parts else Text("No flag, and nothing asked.")


def _called(exam: Exam) -> str:
    return exam.tag or f"exam {exam.number}"


def _rules(noted: list[Flag]) -> str:
    return ", ".join(dict.fromkeys(spaced(flag.rule) for flag in noted))


def _lines(exam: Exam, raised: list[Flag]) -> RenderableType:
    lines = two_columns(8)
    for question in exam.open_queries:
        lines.add_row(Text(" ASKED ", "bold yellow"), plain(question))
    for flag in raised:
        lines.add_row(severity_word(flag.severity), plain(flag.why))
        figures = ", ".join(f"{name} {value}" for name, value in flag.figures)
        lines.add_row("", plain(f"{flag.rule}: {figures}" if figures else flag.rule, "dim"))
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
