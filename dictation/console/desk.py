"""The recorder's desk in the console: one matter at a time, and what a typed line does to it.

Nothing here reads a key or the clock: a line comes in, an order goes to the journal, and a
sentence of what was done comes back.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from dictation.audio.keep import stop_at_damaged_sound
from dictation.decide.agenda import Matter, agenda
from dictation.decide.orders import ORDERS, About, exam_named, order
from dictation.decide.record import Record
from dictation.errors import WrongUseError
from dictation.visit.inputs import By, ExamApproved
from dictation.visit.parts import Phrase
from dictation.visit.state import Visit

Play = Callable[[str], None]
"""Plays an audio file of the visit by its name. Raises MissingError where that cannot be."""


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


class Desk:
    """Where the recorder stands in a visit. ``left``: they want to leave."""

    def __init__(self, record: Record, who: str, play: Play) -> None:
        self._record = record
        self._who = who
        self._play = play
        self._why = ""
        self._chosen: Matter | None = None
        self._passed: set[tuple[object, ...]] = set()
        self._shown: list[Matter] = []
        self.left = False

    @property
    def visit(self) -> Visit:
        """The visit as last read."""
        return self._record.visit

    @property
    def matter(self) -> Matter | None:
        """What is looked at now: a chosen phrase, else the most urgent matter not passed over."""
        if self._chosen is not None:
            return self._chosen
        return next((m for m in self.waiting if m.key not in self._passed), None)

    @property
    def waiting(self) -> tuple[Matter, ...]:
        """All matters left."""
        return agenda(self.visit, self._record.flags)

    @property
    def phrase(self) -> Phrase | None:
        """The phrase that is looked at."""
        matter = self.matter
        return None if matter is None else self.visit.phrase(matter.phrase)

    @property
    def asks(self) -> bool:
        """Whether a digit is an answer."""
        matter = self.matter
        return matter is not None and matter.query is not None

    def refresh(self) -> None:
        """Read what others have done meanwhile."""
        self._record.catch_up()

    def take(self, line: str) -> str:
        """Do what a line says; a sentence of what was done. Raises WrongUseError, MissingError."""
        words = line.strip()
        if not words:
            return self._next()
        if words.isdigit() and len(words) == 1 and self.asks:
            return self._put_right("answer", words)
        if not words.startswith("/"):
            return self._put_right("phrase", words)
        name, _, rest = words[1:].partition(" ")
        name, rest = name.lower(), rest.strip()
        if name in MOVES:
            return MOVES[name](self, rest)
        if name not in ORDERS:
            raise WrongUseError(f"'/{name}' is nothing known here: /help lists what is.")
        if name == "keep" and not self.asks:
            return self._next()
        return self._put_right(name, rest)

    def _put_right(self, name: str, text: str) -> str:
        wanted = order(self.visit, name, self._about(name, text), text)
        self._record.put_right(wanted.deed, By(self._who, self._why, self.visit.last_seq))
        self._why = ""
        self._chosen = None
        if isinstance(wanted.deed, ExamApproved):
            return f"{wanted.told.removesuffix('.')} by {self._who}."
        return wanted.told

    def _about(self, name: str, text: str) -> About:
        if name == "undo" and text:
            return About(entry=_entry(text))
        matter = self.matter
        if matter is None:
            return About()
        # What was missed is no part of the phrase that happens to be looked at.
        phrase = None if name == "insert" else matter.phrase
        return About(matter.exam, phrase, None if matter.query is None else matter.query.id)

    def _next(self, _: str = "") -> str:
        matter = self.matter
        if matter is None:
            self._passed.clear()
            return "From the start again." if self.waiting else "Nothing is left to look at."
        self._chosen = None
        self._passed.add(matter.key)
        self._shown.append(matter)
        return ""

    def _back(self, _: str) -> str:
        if not self._shown:
            raise WrongUseError("This is the first.")
        self._passed.discard(self._shown.pop().key)
        self._chosen = None
        return ""

    def _go(self, name: str) -> str:
        exam = exam_named(self.visit, name)
        spoken = [phrase.number for phrase in self.visit.phrases if phrase.exam == exam.number]
        self._chosen = Matter(exam.number, spoken[-1] if spoken else None)
        return ""

    def _played(self, _: str) -> str:
        phrase = self.phrase
        if phrase is None or phrase.audio is None:
            raise WrongUseError("There is no sound of this: it was typed.")
        path = self._record.journal.audio / phrase.audio
        stop_at_damaged_sound(path, phrase.audio_digest)
        self._play(phrase.audio)
        return "Played."

    def _reason(self, words: str) -> str:
        self._why = words
        return f"Reason for the next correction: {words}." if words else "No reason."

    def _help(self, _: str) -> str:
        """Everything that can be typed, a line each."""
        lines = ["Type what is right, as it is spoken or in short ('l ov cl 22'); a digit takes an"]
        lines.append("answer, 0 none of them. Control-R plays, Control-Z takes back.")
        lines += [f"  {f'/{line.name} {line.takes}'.strip():18} {line.help}" for line in LINES]
        return "\n".join(lines)

    def _quit(self, _: str) -> str:
        self.left = True
        return ""


MOVES: dict[str, Callable[[Desk, str], str]] = {
    "play": Desk._played,
    "next": Desk._next,
    "back": Desk._back,
    "go": Desk._go,
    "why": Desk._reason,
    "help": Desk._help,
    "quit": Desk._quit,
}
"""What changes only what is looked at; all else is put right by an order."""


def _entry(text: str) -> int:
    if not (text.isascii() and text.isdigit()) or len(text) > 15:
        raise WrongUseError(f"'{text}' is no entry: give its number, or nothing for the last.")
    return int(text)
