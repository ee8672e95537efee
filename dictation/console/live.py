"""The screen while listening: one screen, 80 columns by 24 lines and up, readable at two metres.

Everything has its word beside its colour. A pure function of what it is given.
"""

from __future__ import annotations

from dataclasses import dataclass

from rich import box
from rich.console import Group, RenderableType
from rich.panel import Panel
from rich.table import Column, Table
from rich.text import Text

from dictation.console.fitting import fitted
from dictation.console.safe import plain, safe
from dictation.console.screen import (
    FATE_WORDS,
    approval_words,
    gravest_first,
    severity_word,
    two_ends,
)
from dictation.console.sweep import NOT_YET, elsewhere, pregnancies, said_of
from dictation.decide.record import Flags
from dictation.visit.state import Visit
from grammar.exam import LONG_FROM, Exam, Flag, digits_of
from grammar.findings import SweepStructure
from grammar.wording import how_to_answer, spaced

KEYS = "a accept  1-3 take  0 none  u undo  y redo  r retype  n next  p pause  q quit"

OTHER_LINES = 4
"""Head, microphone, keys, and the line in which the cursor stands."""

FRAME = 4
"""Columns of a frame and its margins."""

METER_FROM_DBFS = -60.0
METER_CELLS = 12


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
    """The whole screen as rich parts, at most ``height`` lines as long as values can be left out.

    Where room is short, flags are counted instead of shown; what was said and is asked stays whole.
    """
    exam = visit.exam_in_hand
    other = " + ".join(() if exam is None else elsewhere(exam))
    above = _phrase(visit, live, width)
    animal, animal_lines = _animal(visit, exam, width)
    tract, tract_lines = _tract(exam, live.order, width)
    below = [*(fitted(f"+ {other}", width, "bold") if other else [Text()]), *_asked(visit, width)]
    room = height - OTHER_LINES - animal_lines - len(above) - tract_lines - len(below)
    flagged = () if exam is None else flags.get(exam.number, ())
    return Group(
        _head(visit, live),
        _microphone(live),
        animal,
        *above,
        tract,
        *below,
        *_flags(flagged, room, width),
        _foot(live),
    )


def _line(text: str, style: str = "") -> Text:
    line = plain(text, style)
    line.no_wrap, line.overflow = True, "ellipsis"
    return line


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
    return two_ends(_line(f"hornsweep  {day}{farm}", "dim"), right, no_wrap=True)


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
    return two_ends(line, Text(safe(mic.name)[:20], "dim"), no_wrap=True)


def _animal(visit: Visit, exam: Exam | None, width: int) -> tuple[RenderableType, int]:
    """The animal in its frame, and the number of lines."""
    if exam is None:
        return Panel(Text("NO ANIMAL IN HAND", "bold"), box=box.HEAVY, title="animal"), 3
    tag = safe(exam.tag or "NOT SAID")
    if exam.tag is not None and len(digits_of(tag)) < LONG_FROM:
        tag = " ".join(tag)
    told = [words.upper() for words in pregnancies(exam)]
    if exam.herd_list_given and exam.tag and not visit.numbers.named(exam.tag):
        told.append("NOT ON THE LIST")
    if visit.going.note_awaited:
        told.append("NOTE: NEXT WORDS ARE KEPT")
    head = Text.assemble((f" TAG {tag} ", "bold reverse"), "  ")
    lines = fitted(";  ".join(told), width - FRAME, "bold", head)
    title = plain(f"exam {exam.number}  {approval_words(visit, exam)}".strip())
    return Panel(Group(*lines), box=box.HEAVY, title=title), len(lines) + 2


def _phrase(visit: Visit, live: Live, width: int) -> list[Text]:
    if live.words:
        words = f"{live.words} ..."
        return [
            *fitted(words, width, "bold cyan", Text("HEARING  ", "bold cyan")),
            *fitted(visit.reply, width),
        ]
    last = visit.last_phrase
    if last is None:
        return [_line("HEARD  nothing yet", "dim"), *fitted(live.told, width)]
    word, style = FATE_WORDS[last.fate]
    head = Text("TAKEN BACK" if last.taken_back else word, style).append("  ")
    lines = fitted(f"“{last.text}”" if last.text else "no words", width, "bold", head)
    asked = visit.asked
    if asked is not None and visit.reply == asked.question:
        return lines  # it stands below, with its answers
    return [*lines, *fitted(visit.reply or live.told, width)]


def _tract(
    exam: Exam | None, order: tuple[SweepStructure, ...], width: int
) -> tuple[RenderableType, int]:
    """Two middle stations, then each side's horn and ovary; the side swept first at the left.

    Beside it the number of lines.
    """
    sides = (order[2:4], order[4:6])
    rows = (order[:2], (sides[0][0], sides[1][0]), (sides[0][1], sides[1][1]))
    column = (width - 2) // 2
    grid = Table.grid(Column(width=column), Column(width=column), expand=True, padding=(0, 1))
    count = 0
    for row in rows:
        stations = [_station(exam, station, column) for station in row]
        count += max(map(len, stations))
        grid.add_row(*(Group(*lines) for lines in stations))
    return grid, count


def _station(exam: Exam | None, station: SweepStructure, width: int) -> list[Text]:
    said = () if exam is None else said_of(exam, station)
    name = spaced(station).upper()
    if not said:
        return [_line(f"[ ] {name}", "dim"), _line(f"    {NOT_YET}", "dim")]
    return [
        _line(f"[x] {name}", "green"),
        *fitted("; ".join(said), width, "bold", Text("    ")),
    ]


def _asked(visit: Visit, width: int) -> list[Text]:
    query = visit.asked
    if query is None:
        return []
    more = len(visit.open_of(visit.in_hand)) - 1
    head = Text(" ASKED " + (f"(and {more} more) " if more else ""), "bold black on yellow")
    head = Text.assemble(head, " ")
    lines = fitted(query.question, width, "bold yellow", head)
    if len(query.alternatives) > 1:
        numbered = enumerate(query.alternatives, start=1)
        lines += fitted("  ".join(f"{n} = {a.words}" for n, a in numbered), width, "bold")
    return [*lines, *fitted(how_to_answer(len(query.alternatives)), width)]


def _flags(flags: tuple[Flag, ...], room: int, width: int) -> list[Text]:
    """The gravest flags that there is room for, whole, and how many more there are."""
    ordered = gravest_first(flags)
    lines: list[Text] = []
    for shown, flag in enumerate(ordered):
        head = Text.assemble(severity_word(flag.severity), " ")
        whole = fitted(flag.why, width, first=head)
        left = len(ordered) - shown - 1
        if len(lines) + len(whole) + bool(left) > room:
            count = left + 1
            several = f"and {count} more" if shown else f"{count} flag{'s' if count > 1 else ''}"
            gravest = str(flag.severity).upper()
            told = _line(f"{several}, the gravest a {gravest}: hornsweep check shows them", "bold")
            return [*lines, told]
        lines += whole
    return lines


def _foot(live: Live) -> RenderableType:
    if live.typing is not None:
        return _line(f"TYPE: {live.typing}_   (Enter takes it, Esc leaves)", "bold reverse")
    return _line(KEYS, "dim")
