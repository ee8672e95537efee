"""The screen while listening as it stands first: what is read from two metres, and nothing else.

Tag and status are drawn in block letters as large as the terminal allows; one line is what was
taken, one the question. The rest is behind a key (``console.live``). A pure function.
"""

from __future__ import annotations

from rich.console import Group, RenderableType
from rich.text import Text

from dictation.console.block_letters import block_letters
from dictation.console.fitting import fitted
from dictation.console.live import Live, head_line, microphone_line, one_line, typing_line
from dictation.console.screen import severity_word, two_ends
from dictation.decide.record import Flags
from dictation.records.glance import Glance, glance
from dictation.visit.state import Visit
from grammar.exam import Severity

BIG_KEYS = "d details  w wall page  q quit"

DETAIL_LINES = 5
"""Half of what tag and status are given at most: they come first."""

FRAME_LINES = 3
"""Head, foot, and the line in which the cursor stands."""


def big_screen(
    visit: Visit, flags: Flags, live: Live, width: int = 80, height: int = 24
) -> RenderableType:
    """The whole screen as rich parts, at most ``height`` lines where values can be whole."""
    seen = glance(visit, flags, live.order)
    mic = live.microphone
    quiet = mic.verdict == "good" and not (mic.lost or mic.overruns or live.behind)
    top = [] if quiet else [microphone_line(live)]
    below = [
        *_taken(seen, live, width),
        *(line for why in seen.stops for line in _stop(why, width)),
        *_question(seen, width),
    ]
    marks = fitted(" ".join(f"[{'x' if m.said else ' '}] {m.station}" for m in seen.marks), width)
    room = height - FRAME_LINES - len(top) - len(below) - len(marks)
    if room < 2:
        room, marks = room + len(marks), []
    return Group(
        head_line(visit, live),
        *top,
        *_letters(seen, width, room),
        *below,
        *marks,
        _foot(seen, live),
    )


def _letters(seen: Glance, width: int, room: int) -> list[Text]:
    """Tag and status in letters of half the room each; in type where there are none so small."""
    lines: list[Text] = []
    parts = [part for part in (seen.tag, seen.status) if part]
    room -= len(fitted(seen.detail, width))
    for place, part in enumerate(parts):
        here = (room - len(lines)) // (len(parts) - place)
        drawn = block_letters(part, width, here - 1)
        if drawn is None:
            lines += fitted(part, width, "bold reverse")[: max(1, here)]
        else:
            lines += [*(Text(line, "bold", no_wrap=True) for line in drawn), Text()]
    drawn = block_letters(seen.detail.upper(), width, min(DETAIL_LINES, room - len(lines)))
    return [*lines, *(fitted(seen.detail, width, "bold") if drawn is None else map(Text, drawn))]


def _taken(seen: Glance, live: Live, width: int) -> list[Text]:
    """One line: what is being said, or what became of what was."""
    if live.words:
        return fitted(f"{live.words} ...", width, "bold cyan", Text("HEARING  ", "bold cyan"))
    told = fitted(live.told, width) if live.told and live.told != seen.words else []
    head = Text(f"{seen.became}  " if seen.became else "")
    return [*(fitted(seen.words, width, "bold", head) if seen.words else []), *told]


def _stop(why: str, width: int) -> list[Text]:
    return fitted(why, width, "bold", Text.assemble(severity_word(Severity.STOP), " "))


def _question(seen: Glance, width: int) -> list[Text]:
    query = seen.question
    if query is None:
        return []
    head = Text.assemble((" ASKED ", "bold black on yellow"), " ")
    answers = "  ".join(f"{n} = {each.words}" for n, each in enumerate(query.alternatives, 1))
    return [*fitted(query.question, width, "bold yellow", head), *fitted(answers, width, "bold")]


def _foot(seen: Glance, live: Live) -> RenderableType:
    if live.typing is not None:
        return typing_line(live)
    more = [f"{seen.more} more asked"] if seen.more else []
    more += [f"{seen.flags} flag{'s' if seen.flags > 1 else ''}"] if seen.flags else []
    return two_ends(one_line(BIG_KEYS, "dim"), Text(", ".join(more), "bold"), no_wrap=True)
