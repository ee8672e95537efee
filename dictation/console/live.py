"""The screen while listening: tag and status in letters as large as the terminal allows.

From two metres one line is read of what was taken, and one question; behind a key stand all
findings, flags and the microphone. Everything has its word beside its colour. A pure function.
"""

from __future__ import annotations

from dataclasses import dataclass

from rich.console import Group, RenderableType
from rich.text import Text

from dictation.console.block_letters import block_letters
from dictation.console.fitting import fitted
from dictation.console.safe import plain, safe
from dictation.console.screen import (
    FATE_STYLES,
    gravest_first,
    severity_word,
    two_ends,
)
from dictation.decide.people.signing import signed
from dictation.decide.record import Flags
from dictation.records.glance import Glance, glance
from dictation.visit.state import Visit
from grammar.exam import Flag, Severity
from grammar.findings import SweepStructure
from grammar.wording import how_to_answer

FIRST_KEYS = "d details  w wall page  q quit"
KEYS = "a accept 1-3 take 0 none u undo y redo r type n next p pause d big w wall q quit"

FRAME_LINES = 3
"""Head, foot, and the line in which the cursor stands."""

DETAIL_LINES = 5
"""Lines of the letters for age and side, at most: tag and status come first."""

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
    line being typed, None where none is; ``clock``: time of day; ``order``: of the sweep;
    ``trouble``: why nothing is heard or kept, as long as it is so; ``details``: whether all of the
    animal is looked at.
    """

    microphone: Microphone
    clock: str
    order: tuple[SweepStructure, ...]
    words: str = ""
    told: str = ""
    typing: str | None = None
    behind: int = 0
    trouble: str = ""
    details: bool = False


def live_screen(
    visit: Visit, flags: Flags, live: Live, width: int = 80, height: int = 24
) -> RenderableType:
    """The whole screen as rich parts, at most ``height`` lines as long as values can be whole."""
    seen = glance(visit, flags, live.order)
    mic = live.microphone
    good = mic.verdict == "good" and not (mic.lost or mic.overruns or live.behind or live.trouble)
    top = [_head(visit, live), *([] if good and not live.details else [_microphone(live)])]
    raised = () if seen.exam is None else flags.get(seen.exam, ())
    below = [
        *(fitted(live.trouble, width, "bold white on red") if live.trouble else ()),
        *_taken(visit, seen, live, width),
        *(_flags(_of(raised, stops=True), height, width)),
        *_question(seen, live, width),
        *fitted(" ".join(f"[{'x' if m.said else ' '}] {m.station}" for m in seen.marks), width),
    ]
    room = height - FRAME_LINES - (len(top) - 1) - len(below)
    if live.details:
        middle = _findings(visit, seen, width)
        middle += _flags(_of(raised, stops=False), room - len(middle), width)
    else:
        middle = _letters(seen, width, room)
    return Group(*top, *middle, *below, _foot(seen, live))


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
    elif live.trouble:
        state, style = "NOT KEPT", "bold white on red"
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
    good = mic.verdict == "good" and not mic.lost and not live.trouble
    word = "NOT KEPT" if live.trouble else mic.verdict.upper()
    word = "MICROPHONE GONE" if mic.lost else word
    style = "bold green" if good else "bold white on red"
    line = Text("MIC ")
    line.append(f"[{'#' * cells}{'-' * (METER_CELLS - cells)}] {mic.rms_dbfs:4.0f} dB ")
    line.append(word, style)
    if mic.overruns:
        line.append(f"  {mic.overruns} blocks lost", "bold red")
    if live.behind:
        line.append(f"  {live.behind} waiting", "bold yellow")
    return two_ends(line, Text(safe(mic.name)[:20], "dim"), no_wrap=True)


def _letters(seen: Glance, width: int, room: int) -> list[Text]:
    """Tag and status in letters of half the room each; in type where there are none so small."""
    lines: list[Text] = []
    room -= len(fitted(seen.detail, width))
    parts = [part for part in (seen.tag, seen.status) if part]
    for place, part in enumerate(parts):
        here = (room - len(lines)) // (len(parts) - place)
        drawn = block_letters(part, width, here - 1)
        if drawn is None:
            lines += fitted(part, width, "bold reverse")
        else:
            lines += [*(Text(line, "bold", no_wrap=True) for line in drawn), Text()]
    drawn = block_letters(seen.detail.upper(), width, min(DETAIL_LINES, room - len(lines)))
    return [*lines, *(fitted(seen.detail, width, "bold") if drawn is None else map(Text, drawn))]


def _findings(visit: Visit, seen: Glance, width: int) -> list[Text]:
    exam = visit.exam(seen.exam)
    name = Text.assemble((f" {seen.tag} ", "bold reverse"), f"  {seen.status}  ")
    lines = fitted(seen.detail, width, "bold", name)
    if exam is not None:
        lines.append(_line(f"exam {exam.number}  {signed(visit, exam.number)}"))
    words = (f"{'asked: ' if each.asked else ''}{each.words}" for each in seen.standing)
    return [*lines, *fitted("; ".join(words), width, "bold")]


def _taken(visit: Visit, seen: Glance, live: Live, width: int) -> list[Text]:
    """One line: what is being said, or what became of what was heard; and the answer to it."""
    if live.words:
        return fitted(f"{live.words} ...", width, "bold cyan", Text("HEARING  ", "bold cyan"))
    last, asked = visit.last_phrase, seen.question
    if last is None:
        return fitted(live.told or seen.words, width, "dim")
    head = Text(f"{seen.became}  ", FATE_STYLES.get(last.fate, "bold green"))
    lines = fitted(f"“{last.text}”" if last.text else "no words", width, "bold", head)
    if asked is not None and visit.reply == asked.question:
        return lines  # it stands below, with its answers
    return [*lines, *fitted(visit.reply or live.told, width)]


def _question(seen: Glance, live: Live, width: int) -> list[Text]:
    query = seen.question
    if query is None:
        return []
    head = Text.assemble((" ASKED ", "bold black on yellow"), " ")
    numbered = (f"{n} = {each.words}" for n, each in enumerate(query.alternatives, start=1))
    how = fitted(how_to_answer(len(query.alternatives)), width) if live.details else []
    lines = fitted(query.question, width, "bold yellow", head)
    return [*lines, *fitted("  ".join(numbered), width, "bold"), *how]


def _of(raised: tuple[Flag, ...], stops: bool) -> tuple[Flag, ...]:
    return tuple(flag for flag in raised if (flag.severity is Severity.STOP) == stops)


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


def _foot(seen: Glance, live: Live) -> RenderableType:
    if live.typing is not None:
        return _line(f"TYPE: {live.typing}_   (Enter takes it, Esc leaves)", "bold reverse")
    if live.details:
        return _line(KEYS, "dim")
    more = [f"{seen.more} more asked"] if seen.more else []
    more += [f"{seen.flags} flag{'s' if seen.flags > 1 else ''}"] if seen.flags else []
    return two_ends(_line(FIRST_KEYS, "dim"), Text(", ".join(more), "bold"), no_wrap=True)
