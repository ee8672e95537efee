"""What the recorder's keys mean while listening: what is asked is answered, or words are said."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from dictation.decide.people.orders import About, order
from dictation.decide.taking_back import last_scratch
from dictation.errors import WrongUseError
from dictation.live.events import Event, Message
from dictation.live.listening import Listening
from dictation.visit.inputs import By


class Wish(StrEnum):
    """What a key asks for."""

    ACCEPT = "accept"
    TAKE = "take"
    NONE = "none"
    UNDO = "undo"
    REDO = "redo"
    TYPED = "typed"
    NEXT = "next"
    PAUSE = "pause"
    QUIT = "quit"


@dataclass(frozen=True, slots=True)
class Pressed:
    """A wish, with the number of the alternative or the line that was typed."""

    wish: Wish
    number: int = 0
    text: str = ""


RECORDER = By("recorder")

ORDERS = {Wish.ACCEPT: "keep", Wish.TAKE: "answer", Wish.NONE: "none", Wish.REDO: "redo"}
"""Wishes that put something right, by the name of the order. Redo is of what 'u' took back."""

NO_ENTRY = 0
"""Entries are numbered from 1: at the keys nothing that was done elsewhere is done again."""


def obey(desk: Listening, pressed: Pressed) -> tuple[Event, ...]:
    """What a key does: to the question that is open, or as if its words had been said."""
    match pressed.wish:
        case Wish.UNDO:
            return desk.typed("scratch that")
        case Wish.NEXT:
            return desk.typed("next animal")
        case Wish.PAUSE:
            return desk.typed("resume" if desk.session.visit.paused else "pause")
        case Wish.TYPED:
            return _retyped(desk, pressed.text)
        case Wish.QUIT:
            return ()
        case wish:
            return _put_right(desk, ORDERS[wish], str(pressed.number))


def _put_right(desk: Listening, name: str, text: str = "") -> tuple[Event, ...]:
    """Where it cannot be done, the screen says why."""
    visit = desk.session.visit
    asked, scratch = visit.asked, last_scratch(visit)
    about = About(
        exam=visit.in_hand,
        query=None if asked is None else asked.id,
        entry=NO_ENTRY if scratch is None else scratch.seq,
    )
    try:
        wanted = order(visit, name, about, text)
    except WrongUseError as error:
        desk.now.told = str(error)
        return (Message(str(error), "key"),)
    return desk.take(wanted.deed, RECORDER)


def _retyped(desk: Listening, text: str) -> tuple[Event, ...]:
    """A typed phrase stands in the place of one that was not understood."""
    visit = desk.session.visit
    asked, last = visit.asked, visit.last_phrase
    replaced = asked is not None and last is not None and asked.phrase == last.number
    return (*(_put_right(desk, "none") if replaced else ()), *desk.typed(text))
