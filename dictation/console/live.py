"""The screen while listening: one screen, 80 columns by 24 lines and up, readable at two metres.

Everything has its word beside its colour. A pure function of what it is given.
"""

from __future__ import annotations

from dataclasses import dataclass

from rich import box
from rich.console import Group, RenderableType
from rich.panel import Panel
from rich.table import Table
from rich.text import Text

from dictation.console.safe import plain, safe
from dictation.console.screen import FATE_WORDS, SEVERITY_STYLE
from dictation.console.sweep import NOT_YET, elsewhere, pregnancies, said_of
from dictation.session.happenings import Flags
from dictation.session.visit import Visit
from dictation.session.wording import how_to_answer, spaced
from grammar.exam import Exam, Flag, Severity
from grammar.findings import SweepStructure

KEYS = "a accept  1-3 take  0 none  u undo  r retype  n next  p pause  q quit"

METER_FROM_DBFS = -60.0
METER_CELLS = 12

_SEVERITIES = (Severity.STOP, Severity.QUERY, Severity.NOTE)


@dataclass(frozen=True, slots=True)
class Microphone:
    """The microphone as shown: its name, level in dBFS, a verdict in words, and what it lost."""

    name: str
    rms_dbfs: float
    verdict: str
    lost: bool = False
    overruns: int = 0


@dataclass(frozen=True, slots=True)
class Live:
    """What the screen shows beside the visit.

    ``words``: heard so far of the phrase being spoken; ``told``: the last notice; ``typing``: the
    line being typed, None where none is; ``clock``: time of day; ``order``: of the sweep.
    """

    microphone: Microphone
    clock: str
    order: tuple[SweepStructure, ...]
    words: str = ""
    told: str = ""
    typing: str | None = None
    behind: int = 0


def live_screen(
    visit: Visit, flags: Flags, live: Live, width: int = 80, height: int = 24
) -> RenderableType:
    """The whole screen as rich parts, at most ``height`` lines."""
    exam = visit.exam_in_hand
    room = height - 16
    parts: list[RenderableType] = [
        _head(visit, live),
        _microphone(live),
        _animal(visit, exam),
        _phrase(visit, live),
        _tract(exam, live.order),
    ]
    other = " + ".join(() if exam is None else elsewhere(exam))
    parts.append(_line(f"+ {other}" if other else "", "bold"))
    parts += _asked(visit)[:room]
    room -= len(_asked(visit)[:room])
    parts += _flags(() if exam is None else flags.get(exam.number, ()), room)
    parts.append(_foot(live))
    return Group(*parts)


def _line(text: str, style: str = "") -> Text:
    line = plain(text, style)
    line.no_wrap, line.overflow = True, "ellipsis"
    return line


def _row(left: Text, right: Text) -> RenderableType:
    row = Table.grid(expand=True)
    row.add_column(no_wrap=True, overflow="ellipsis")
    row.add_column(justify="right", no_wrap=True)
    row.add_row(left, right)
    return row


def _head(visit: Visit, live: Live) -> RenderableType:
    day = "" if visit.on_date is None else visit.on_date.isoformat()
    farm = f"  {visit.farm}" if visit.farm else ""
    state, style = "LISTENING", "bold green"
    if live.microphone.lost:
        state, style = "NOT LISTENING", "bold white on red"
    elif visit.paused:
        state, style = "PAUSED", "bold black on magenta"
    elif visit.closed:
        state, style = "VISIT CLOSED", "bold"
    right = Text.assemble((f"{len(visit.exams)} animals  ", ""), (f" {state} ", style))
    right.append(f"  {live.clock}", "bold")
    return _row(_line(f"hornsweep  {day}{farm}", "dim"), right)


def _microphone(live: Live) -> RenderableType:
    mic = live.microphone
    share = (mic.rms_dbfs - METER_FROM_DBFS) / -METER_FROM_DBFS
    cells = max(0, min(METER_CELLS, round(share * METER_CELLS)))
    good = mic.verdict == "good" and not mic.lost
    word = "MICROPHONE GONE" if mic.lost else mic.verdict.upper()
    style = "bold green" if good else "bold white on red"
    line = Text("MIC ")
    line.append(f"[{'#' * cells}{'-' * (METER_CELLS - cells)}] {mic.rms_dbfs:4.0f} dB ")
    line.append(word, style)
    if mic.overruns:
        line.append(f"  {mic.overruns} blocks lost", "bold red")
    if live.behind:
        line.append(f"  {live.behind} waiting", "bold yellow")
    return _row(line, Text(safe(mic.name)[:20], "dim"))


def _animal(visit: Visit, exam: Exam | None) -> RenderableType:
    if exam is None:
        return Panel(Text("NO ANIMAL IN HAND", "bold"), box=box.HEAVY, title="animal")
    head = Text(no_wrap=True, overflow="ellipsis")
    tag = " ".join(safe(exam.tag)) if exam.tag else "NOT SAID"
    head.append(f" TAG {tag} ", "bold reverse")
    for words in pregnancies(exam):
        head.append(f"  {safe(words).upper()}", "bold")
    if exam.herd_list_given and exam.tag and exam.known is None:
        head.append("  NOT ON THE LIST", "bold yellow")
    if visit.note_awaited:
        head.append("  NOTE: next words are kept", "bold magenta")
    return Panel(head, box=box.HEAVY, title=f"exam {exam.number}")


def _phrase(visit: Visit, live: Live) -> RenderableType:
    if live.words:
        return Group(_line(f"HEARING  {live.words} ...", "bold cyan"), _line(visit.reply))
    if not visit.utterances:
        return Group(_line("HEARD  nothing yet", "dim"), _line(live.told))
    last = visit.utterances[-1]
    word, style = FATE_WORDS[last.fate]
    line = _line("")
    line.append("TAKEN BACK" if last.taken_back else word, style)
    line.append(f"  “{safe(last.text)}”" if last.text else "  no words", "bold")
    return Group(line, _line(visit.reply or live.told))


def _tract(exam: Exam | None, order: tuple[SweepStructure, ...]) -> RenderableType:
    """Two middle stations, then each side's horn and ovary; the side swept first at the left."""
    sides = (order[2:4], order[4:6])
    rows = (order[:2], (sides[0][0], sides[1][0]), (sides[0][1], sides[1][1]))
    grid = Table.grid(expand=True, padding=(0, 1))
    grid.add_column(ratio=1)
    grid.add_column(ratio=1)
    for row in rows:
        grid.add_row(*(_station(exam, station) for station in row))
    return grid


def _station(exam: Exam | None, station: SweepStructure) -> RenderableType:
    said = () if exam is None else said_of(exam, station)
    name = spaced(station).upper()
    if not said:
        return Group(_line(f"[ ] {name}", "dim"), _line(f"    {NOT_YET}", "dim"))
    return Group(_line(f"[x] {name}", "green"), _line(f"    {'; '.join(said)}", "bold"))


def _asked(visit: Visit) -> list[RenderableType]:
    query = visit.asked
    if query is None:
        return []
    more = sum(q.exam == visit.in_hand for q in visit.open_queries) - 1
    head = Text(no_wrap=True, overflow="ellipsis")
    head.append(" ASKED " + (f"(and {more} more) " if more else ""), "bold black on yellow")
    head.append(f" {safe(query.question)}", "bold yellow")
    lines: list[RenderableType] = [head]
    if len(query.alternatives) > 1:
        numbered = enumerate(query.alternatives, start=1)
        lines.append(_line("  ".join(f"{n} = {a.words}" for n, a in numbered), "bold"))
    lines.append(_line(how_to_answer(len(query.alternatives))))
    return lines


def _flags(flags: tuple[Flag, ...], room: int) -> list[RenderableType]:
    """The gravest flags that there is room for, and how many more there are."""
    ordered = sorted(flags, key=lambda flag: _SEVERITIES.index(flag.severity))
    shown = ordered if len(ordered) <= room else ordered[: max(0, room - 1)]
    lines: list[RenderableType] = []
    for flag in shown:
        line = Text(f" {str(flag.severity).upper()} ", SEVERITY_STYLE[flag.severity])
        line.append(f" {safe(flag.why)}", "not bold default on default")
        line.no_wrap, line.overflow = True, "ellipsis"
        lines.append(line)
    if len(shown) < len(ordered) and room > 0:
        lines.append(_line(f"and {len(ordered) - len(shown)} more flags", "dim"))
    return lines


def _foot(live: Live) -> RenderableType:
    if live.typing is not None:
        return _line(f"TYPE: {live.typing}_   (Enter takes it, Esc leaves)", "bold reverse")
    return _line(KEYS, "dim")
