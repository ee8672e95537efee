"""The screen of a visit while it is spoken, as text for a width.

The animal's tag stands large; below it the tract as it lies: cervix and body, then left and right
beside each other; then what is asked, and the flags. It is a pure function: width and colour are
given, nothing is read from the terminal or the clock.
"""

from __future__ import annotations

import io
from collections.abc import Mapping

from rich import box
from rich.columns import Columns
from rich.console import Console, Group, RenderableType
from rich.panel import Panel
from rich.table import Table
from rich.text import Text

from dictation.console.safe import plain, safe
from dictation.console.sweep import NOT_YET, elsewhere, pregnancies, said_of
from dictation.session.visit import Fate, Query, Utterance, Visit
from grammar.exam import Exam, Flag, Severity
from grammar.findings import SweepStructure
from grammar.wording import how_to_answer, spaced

SIDE_BY_SIDE_FROM = 70
"""Narrower than this the two sides of the tract stand below each other."""

SEVERITY_STYLE = {
    Severity.STOP: "bold white on red",
    Severity.QUERY: "bold black on yellow",
    Severity.NOTE: "bold cyan",
}

FATE_WORDS = {
    Fate.RECORDED: ("RECORDED", "bold green"),
    Fate.COMMAND: ("DONE", "bold green"),
    Fate.ASKED: ("ASKED", "bold yellow"),
    Fate.NOTED: ("NOTED", "bold green"),
    Fate.REFUSED: ("NOT FOR US", "dim"),
    Fate.PAUSED: ("PAUSED", "bold magenta"),
    Fate.SILENT: ("SILENT", "dim"),
    Fate.JOINED: ("JOINED", "dim"),
}


def screen(
    visit: Visit, flags: Mapping[int, tuple[Flag, ...]], width: int = 80, colour: bool = False
) -> str:
    """The whole screen. Without ``colour`` the text holds no escape sequence at all."""
    return render(screen_parts(visit, flags, width), width, colour)


def render(parts: RenderableType, width: int, colour: bool) -> str:
    """Rich parts as text of a width."""
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


def screen_parts(visit: Visit, flags: Mapping[int, tuple[Flag, ...]], width: int) -> RenderableType:
    """The screen as rich parts, for a live display."""
    exam = visit.exam_in_hand
    parts: list[RenderableType] = [_title(visit), _animal(visit, exam), _last(visit)]
    if exam is not None:
        parts.append(_tract(exam, width))
        parts += _other_findings(exam)
    parts.append(_asked(visit))
    if exam is not None:
        parts.append(flag_lines(flags.get(exam.number, ())))
    return Group(*parts)


def _title(visit: Visit) -> RenderableType:
    line = Table.grid(expand=True)
    line.add_column()
    line.add_column(justify="right")
    day = "" if visit.on_date is None else visit.on_date.isoformat()
    farm = f"  {safe(visit.farm)}" if visit.farm else ""
    state = "PAUSED" if visit.paused else "VISIT CLOSED" if visit.closed else "LISTENING"
    line.add_row(
        Text(f"hornsweep  {day}{farm}", "dim"),
        Text(f"{len(visit.exams)} animals  {state}", "bold"),
    )
    return line


def _animal(visit: Visit, exam: Exam | None) -> RenderableType:
    if exam is None:
        return Panel(Text("NO ANIMAL IN HAND", "bold"), box=box.HEAVY, title="animal")
    head = Text(f"TAG {safe(exam.tag)}" if exam.tag else "TAG NOT SAID", "bold reverse")
    for words in pregnancies(exam):
        head.append("   ")
        head.append(safe(words).upper(), "bold")
    lines: list[RenderableType] = [head]
    known = _known(exam)
    if known:
        lines.append(plain(known, "dim"))
    if visit.note_awaited:
        lines.append(Text("NOTE: the next words are kept as they are", "bold magenta"))
    return Panel(Group(*lines), box=box.HEAVY, title=f"exam {exam.number}")


def _known(exam: Exam) -> str:
    if exam.known is None:
        return "not on the herd list" if exam.herd_list_given and exam.tag else ""
    known = exam.known
    parts = [known.breed, known.animal_class and spaced(known.animal_class)]
    if known.calved_on is not None:
        parts.append(f"calved {known.calved_on.isoformat()}")
    if known.services:
        parts.append(f"served {known.services[-1].first_day.isoformat()}")
    return "  ".join(part for part in parts if part)


def _last(visit: Visit) -> RenderableType:
    line = Table.grid(padding=(0, 1))
    line.add_column(no_wrap=True)
    line.add_column()
    if not visit.utterances:
        line.add_row(Text("HEARD", "dim"), Text("nothing yet", "dim"))
        return line
    last: Utterance = visit.utterances[-1]
    words, style = FATE_WORDS[last.fate]
    if last.taken_back:
        words = "TAKEN BACK"
    line.add_row(Text(words, style), plain(f"“{last.text}”" if last.text else "no words", "bold"))
    if visit.reply:
        line.add_row("", plain(visit.reply))
    return line


def _tract(exam: Exam, width: int) -> RenderableType:
    middle = [_station(exam, SweepStructure.CERVIX), _station(exam, SweepStructure.BODY)]
    left = [_station(exam, SweepStructure.LEFT_HORN), _station(exam, SweepStructure.LEFT_OVARY)]
    right = [_station(exam, SweepStructure.RIGHT_HORN), _station(exam, SweepStructure.RIGHT_OVARY)]
    if width < SIDE_BY_SIDE_FROM:
        return Group(*middle, *left, *right)
    grid = Table.grid(expand=True, padding=(0, 1))
    grid.add_column(ratio=1)
    grid.add_column(ratio=1)
    grid.add_row(*middle)
    grid.add_row(left[0], right[0])
    grid.add_row(left[1], right[1])
    return grid


def _station(exam: Exam, station: SweepStructure) -> RenderableType:
    said = said_of(exam, station)
    name = spaced(station).upper()
    body = plain("; ".join(said), "bold") if said else Text(NOT_YET, "dim")
    style = "green" if said else "dim"
    mark = "[x]" if said else "[ ]"
    return Panel(body, title=Text(f"{mark} {name}"), title_align="left", border_style=style)


def _other_findings(exam: Exam) -> list[RenderableType]:
    found = elsewhere(exam)
    if not found:
        return []
    return [Columns([plain(f"+ {words}") for words in found], padding=(0, 3))]


def _asked(visit: Visit) -> RenderableType:
    query = visit.asked
    if query is None:
        return Text("")
    more = sum(q.exam == visit.in_hand for q in visit.open_queries) - 1
    return Panel(
        query_lines(query),
        title=Text("ASKED" + (f" (and {more} more)" if more else "")),
        title_align="left",
        border_style="yellow",
        box=box.HEAVY,
    )


def query_lines(query: Query) -> RenderableType:
    """A query with its numbered answers and its reason."""
    lines: list[RenderableType] = [plain(query.question, "bold yellow")]
    if len(query.alternatives) > 1:
        for number, alternative in enumerate(query.alternatives, start=1):
            lines.append(plain(f"{number} = {alternative.words}"))
    lines.append(Text(how_to_answer(len(query.alternatives))))
    lines.append(plain(f"because {query.why}", "dim"))
    return Group(*lines)


def flag_lines(flags: tuple[Flag, ...]) -> RenderableType:
    """Flags, gravest first, each with its severity in words."""
    order = [Severity.STOP, Severity.QUERY, Severity.NOTE]
    lines = Table.grid(padding=(0, 1))
    lines.add_column(no_wrap=True)
    lines.add_column()
    for flag in sorted(flags, key=lambda f: order.index(f.severity)):
        word = Text(f" {str(flag.severity).upper()} ", SEVERITY_STYLE[flag.severity])
        lines.add_row(word, plain(flag.why))
    return lines
