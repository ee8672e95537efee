"""What can be typed at the recorder's desk beside phrases."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Order:
    """A line that starts with a stroke: its name, what follows it, and one line of help."""

    name: str
    takes: str
    help: str


ORDERS: tuple[Order, ...] = (
    Order("play", "", "hear this phrase again"),
    Order("none", "", "none of the answers; an asked phrase is withdrawn"),
    Order("keep", "", "it is right as it stands"),
    Order("next", "", "the next matter; an empty line does the same"),
    Order("back", "", "the matter before"),
    Order("go", "TAG", "the last phrase of an animal"),
    Order("insert", "PHRASE", "a phrase that was missed, in this animal"),
    Order("withdraw", "[N]", "take back finding N of this phrase, or all of it"),
    Order("move", "TAG", "this phrase belongs to another animal"),
    Order("merge", "TAG", "this animal and that one are the same"),
    Order("split", "", "from this phrase on it is another animal"),
    Order("tag", "DIGITS", "this animal's tag"),
    Order("add", "DIGITS", "an animal that was missed, behind this one"),
    Order("why", "WORDS", "the reason for the next correction"),
    Order("approve", "[visit]", "you stand for this animal, or for the whole visit"),
    Order("undo", "", "take the last correction back"),
    Order("help", "", "this list"),
    Order("quit", "", "leave"),
)


def how_to() -> str:
    """Everything that can be typed, a line each."""
    lines = ["Type what is right, as it is spoken or in short ('l ov cl 22'); a digit takes an"]
    lines.append("answer, 0 none of them. Control-R plays, Control-Z takes back.")
    lines += [f"  {f'/{o.name} {o.takes}'.strip():18} {o.help}" for o in ORDERS]
    return "\n".join(lines)
