"""The end of a visit: a table of the animals, what a person must settle, and the farm's lists."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date

from rich import box
from rich.console import Group, RenderableType
from rich.table import Column, Table
from rich.text import Text

from dictation.console.safe import plain, safe
from dictation.console.screen import render, severity_word
from dictation.decide.people.signing import signed
from dictation.decide.record import Flags
from dictation.records.exam_rows import recheck_date, status_of
from dictation.records.sweep import said_of
from dictation.visit.parts import Query
from dictation.visit.state import Visit
from grammar.exam import Exam, FindingState, Severity
from grammar.findings import Animal, Pregnancy, PregnancyStatus, SweepStructure
from grammar.summary import summarise_age
from grammar.wording import spaced

WIDE_FROM = 100
"""From this width the table shows what was said of both ovaries."""


@dataclass(frozen=True, slots=True)
class ToSettle:
    """Something a person must look at: a query that waits, or a flag of query or stop."""

    exam: int | None
    tag: str | None
    severity: Severity
    sentence: str
    why: str


def to_settle(visit: Visit, flags: Flags) -> tuple[ToSettle, ...]:
    """What is left to settle, by exam; an approved exam has its flags settled."""
    found = [_from_query(visit, query) for query in visit.open_queries]
    for exam in visit.exams:
        if exam.approved is not None:
            continue
        for flag in flags.get(exam.number, ()):
            if flag.severity is not Severity.NOTE:
                found.append(ToSettle(exam.number, exam.tag, flag.severity, flag.why, flag.rule))
    return tuple(sorted(found, key=lambda each: each.exam or 0))


def summary(visit: Visit, flags: Flags, width: int = 80, colour: bool = False) -> str:
    """The whole summary as text."""
    left = to_settle(visit, flags)
    parts = (_table(visit, left, width), Text(""), _settle_lines(left), *_lists(visit))
    return render(Group(*parts), width, colour)


def _from_query(visit: Visit, query: Query) -> ToSettle:
    exam = visit.exam(query.exam)
    tag = None if exam is None else exam.tag
    return ToSettle(query.exam, tag, Severity.QUERY, query.question, query.why)


def _table(visit: Visit, left: tuple[ToSettle, ...], width: int) -> RenderableType:
    day = "" if visit.on_date is None else visit.on_date.isoformat()
    farm = f", {safe(visit.farm)}" if visit.farm else ""
    figures = {"exam", "days"}
    table = Table(
        *(
            Column(head, justify="right" if head in figures else "left", no_wrap=True)
            for head in ("exam", "tag", "status", "days", "due")
        ),
        *(Column(head, ratio=1) for head in (*map(spaced, _ovaries(width)), "to settle")),
        title=Text(f"Visit of {day}{farm}: {len(visit.exams)} animals"),
        title_justify="left",
        box=box.SIMPLE_HEAD,
        expand=True,
        padding=(0, 1),
    )
    counts = Counter((each.exam, each.severity) for each in left)
    for exam in visit.exams:
        table.add_row(*_row(visit, exam, counts, width))
    return table


def _row(
    visit: Visit, exam: Exam, counts: Counter[tuple[int | None, Severity]], width: int
) -> list[RenderableType]:
    age = summarise_age(exam)
    of_each = ((counts[exam.number, s], s) for s in (Severity.STOP, Severity.QUERY))
    left = [f"{count} {severity}" for count, severity in of_each if count]
    if approved := signed(visit, exam.number):
        left.append(approved)
    return [
        str(exam.number),
        plain(exam.tag or "no tag", "bold"),
        _status(exam),
        "" if age.age_days is None else str(age.age_days),
        "" if age.due_date is None else age.due_date.isoformat(),
        *(plain("; ".join(said_of(exam, ovary))) for ovary in _ovaries(width)),
        plain(", ".join(left), "bold yellow"),
    ]


def _ovaries(width: int) -> tuple[SweepStructure, ...]:
    """The stations that have a column of their own."""
    ovaries = (SweepStructure.LEFT_OVARY, SweepStructure.RIGHT_OVARY)
    return ovaries if width >= WIDE_FROM else ()


def _status(exam: Exam) -> Text:
    status = status_of(exam)
    if status is None:
        said = any(isinstance(finding, Pregnancy) for finding in exam.findings)
        return Text("SAID TWO WAYS" if said else "not said", "dim")
    style = {PregnancyStatus.PREGNANT: "green", PregnancyStatus.OPEN: "yellow"}.get(status, "")
    return Text(str(status), style)


def _settle_lines(left: tuple[ToSettle, ...]) -> RenderableType:
    if not left:
        return Text("Nothing is left to settle.", "bold green")
    lines = Table.grid(Column(no_wrap=True), Column(no_wrap=True), Column(), padding=(0, 1))
    for each in left:
        told = plain(f"{each.sentence} ({each.why})")
        lines.add_row(severity_word(each.severity), plain(_whose(each), "bold"), told)
    return Group(Text(f"To settle: {len(left)}", "bold"), lines)


def _whose(each: ToSettle) -> str:
    if each.exam is None:
        return "before the first" if each.tag is None else each.tag
    return each.tag or f"exam {each.exam}"


def _called(exam: Exam) -> str:
    """Which animal; on a list that is acted on, a tag or a status still asked about is marked."""
    name = exam.tag or f"exam {exam.number}"
    queried = [r.finding for r in exam.standing if r.state is FindingState.QUERIED]
    if any(isinstance(finding, Animal) for finding in queried):
        return f"{name} (tag asked about)"
    if any(isinstance(finding, Pregnancy) for finding in queried):
        return f"{name} (asked about)"
    return name


def _by_day(visit: Visit, day_of: Callable[[Exam], date | None]) -> list[tuple[date, str]]:
    days = ((day_of(exam), _called(exam)) for exam in visit.exams)
    return sorted((day, tag) for day, tag in days if day is not None)


def _lists(visit: Visit) -> list[RenderableType]:
    due = _by_day(visit, lambda exam: summarise_age(exam).due_date)
    rechecks = _by_day(visit, recheck_date)
    open_tags = [_called(exam) for exam in visit.exams if status_of(exam) is PregnancyStatus.OPEN]
    parts: list[RenderableType] = []
    for title, lines in (
        ("Due to calve", [f"{day.isoformat()}  {tag}" for day, tag in due]),
        ("Look again", [f"{day.isoformat()}  {tag}" for day, tag in rechecks]),
        ("Open", [", ".join(open_tags)] if open_tags else []),
    ):
        if lines:
            parts += [Text(""), Text(title, "bold"), *(plain(f"  {line}") for line in lines)]
    return parts
