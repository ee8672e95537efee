"""What can be typed at the recorder's desk beside phrases."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Line:
    """A line that starts with a stroke: its name, what follows it, and one line of help."""

    name: str
    takes: str
    help: str


LOOKING: tuple[Line, ...] = (
    Line("play", "", "hear this phrase again"),
    Line("next", "", "the next matter; an empty line does the same"),
    Line("back", "", "the matter before"),
    Line("go", "TAG", "the last phrase of an animal"),
    Line("why", "WORDS", "the reason for the next correction"),
    Line("help", "", "this list"),
    Line("quit", "", "leave"),
)
"""What changes only what is looked at."""

PUTTING_RIGHT: tuple[Line, ...] = (
    Line("answer", "N", "take answer N; the digit alone does the same"),
    Line("none", "", "none of the answers; an asked phrase is withdrawn"),
    Line("keep", "", "it is right as it stands"),
    Line("phrase", "PHRASE", "what this phrase should say; without '/phrase' the same"),
    Line("insert", "PHRASE", "a phrase that was missed, in this animal"),
    Line("withdraw", "[N]", "take back finding N of this phrase, or all of it"),
    Line("move", "TAG", "this phrase belongs to another animal"),
    Line("merge", "TAG", "this animal and that one are the same"),
    Line("split", "", "from this phrase on it is another animal"),
    Line("tag", "DIGITS", "this animal's tag"),
    Line("add", "DIGITS", "an animal that was missed, behind this one"),
    Line("approve", "[visit]", "you stand for this animal, or for the whole visit"),
    Line("undo", "[ENTRY]", "take the last correction back, or the entry of that number"),
    Line("redo", "", "do again what was taken back just now"),
)
"""The orders of ``dictation.decide.orders``, each with its help."""

LINES = (*LOOKING, *PUTTING_RIGHT)


def how_to() -> str:
    """Everything that can be typed, a line each."""
    lines = ["Type what is right, as it is spoken or in short ('l ov cl 22'); a digit takes an"]
    lines.append("answer, 0 none of them. Control-R plays, Control-Z takes back.")
    lines += [f"  {f'/{line.name} {line.takes}'.strip():18} {line.help}" for line in LINES]
    return "\n".join(lines)
