"""The recorder's desk in the console: one matter at a time, and what a typed line does to it.

Nothing here reads a key or the clock: a line comes in, an order goes to the journal, and a
sentence of what was done comes back.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass

from dictation.audio.keep import stop_at_damaged_sound
from dictation.decide.people.agenda import Matter, agenda
from dictation.decide.people.history import history
from dictation.decide.people.orders import ORDERS, About, Order, exam_named, order
from dictation.decide.record import Record
from dictation.errors import WrongUseError
from dictation.visit.inputs import By
from dictation.visit.parts import Phrase
from dictation.visit.state import Visit
from grammar.exam import Exam
from grammar.findings import Pregnancy
from grammar.wording import written

_VALUE = re.compile(r"[1-9][0-9]? \S")
"""A finding by its place, and the value that is right: '2 26'."""

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
    Line("next", "", "the next that is open; an empty line does the same"),
    Line("back", "", "the one before"),
    Line("go", "TAG [N]", "an animal, or the phrase of her finding N; her tag alone does the same"),
    Line("list", "", "all animals, and what is open of each"),
    Line("done", "", "what was corrected, with the numbers that '/undo' takes"),
    Line("why", "WORDS", "the reason for the next correction"),
    Line("help", "", "this list"),
    Line("quit", "", "leave"),
)
"""What changes only what is looked at."""

PUTTING_RIGHT: tuple[Line, ...] = (
    Line("answer", "N", "take answer N; its number alone does the same"),
    Line("value", "N VALUE", "finding N is this: '/value 2 26' or '2 26'; '2 right', '2 follicle'"),
    Line("none", "", "none of the answers; an asked phrase is withdrawn"),
    Line("keep", "", "it is right as it stands"),
    Line("phrase", "PHRASE", "what this phrase should say; without '/phrase' the same"),
    Line("insert", "PHRASE", "what was missed, in this animal"),
    Line("withdraw", "[N]", "take back finding N of this phrase, or all of it"),
    Line("move", "TAG", "this phrase belongs to another animal"),
    Line("merge", "TAG", "this animal and that one are the same"),
    Line("split", "", "from this phrase on it is another animal"),
    Line("tag", "DIGITS", "this animal's tag"),
    Line("add", "DIGITS", "an animal that was missed, behind this one"),
    Line("approve", "[sure|visit]", "you stand for this animal, all that are sure, or the visit"),
    Line("undo", "[ENTRY]", "take the last correction back, or the entry of that number"),
    Line("redo", "", "do again what was taken back just now"),
)
"""The orders of ``dictation.decide.people.orders``, each with its help."""

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
        self._asking: Order | None = None
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

    @property
    def choosing(self) -> bool:
        """Whether a number chooses from what was offered just now."""
        return self._asking is not None

    def refresh(self) -> None:
        """Read what others have done meanwhile."""
        self._record.catch_up()

    def take(self, line: str) -> str:
        """Do what a line says; a sentence of what was done. Raises WrongUseError, MissingError."""
        words = line.strip()
        asking, self._asking = self._asking, None
        if asking is not None and words.isdigit():
            return "Left as it was." if words == "0" else self._done(asking.chosen(int(words)))
        if not words:
            return self._next()
        return self._order(words[1:]) if words.startswith("/") else self._typed(words)

    def _order(self, words: str) -> str:
        name, _, rest = words.partition(" ")
        name, rest = name.lower(), rest.strip()
        if name in MOVES:
            return MOVES[name](self, rest)
        if name not in ORDERS:
            raise WrongUseError(f"'/{name}' is nothing known here: /help lists what is.")
        if name == "keep" and not self.asks:
            return self._next()
        return self._put_right(name, rest)

    def _typed(self, words: str) -> str:
        if words.isascii() and words.isdigit():
            return self._number(words)
        return self._put_right("value" if _VALUE.match(words) else "phrase", words)

    def _number(self, words: str) -> str:
        """The answer of that number, or the animal of that tag."""
        query = None if self.matter is None else self.matter.query
        tagged = any(exam.tag == words for exam in self.visit.exams)
        if query is None or (tagged and not 0 <= int(words) <= len(query.alternatives)):
            return self._go(words)
        return self._put_right("answer", words)

    def _put_right(self, name: str, text: str) -> str:
        wanted = order(self.visit, name, self._about(name, text), text)
        if not wanted.asks:
            return self._done(wanted)
        self._asking = wanted
        lines = [f"  {n}  {each.does}" for n, each in enumerate(wanted.choices, start=1)]
        return "\n".join((wanted.asks, *lines, "  0  leave it as it is"))

    def _done(self, wanted: Order) -> str:
        """Do it; the next that is open comes by itself, and an animal stays in sight."""
        matter = self.matter
        self._record.put_right(wanted.deed, By(self._who, self._why, self.visit.last_seq))
        self._why = ""
        still = matter is not None and self.visit.exam(matter.exam) is not None
        self._chosen = self._chosen if still else None
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
        if self._chosen is not None:
            self._chosen = None
            return ""
        if matter is None:
            self._passed.clear()
            return "From the start again." if self.waiting else "Nothing is left to look at."
        self._passed.add(matter.key)
        self._shown.append(matter)
        return "Passed over; /back returns to it."

    def _back(self, _: str) -> str:
        if not self._shown:
            raise WrongUseError("This is the first.")
        self._passed.discard(self._shown.pop().key)
        self._chosen = None
        return ""

    def _go(self, name: str) -> str:
        tag, _, place = name.partition(" ")
        if tag.lower() == "exam":
            number, _, place = place.partition(" ")
            tag = f"exam {number}"
        exam = exam_named(self.visit, tag)
        found = exam.standing[int(place) - 1 :] if place.isdigit() and place != "0" else ()
        if place and not found:
            raise WrongUseError(f"There is no finding {place} of this animal.")
        self._chosen = Matter(exam.number, found[0].phrase if found else None)
        return ""

    def _list(self, _: str) -> str:
        open_of = Counter(matter.exam for matter in self.waiting)
        return "\n".join(
            f"  {exam.tag or f'exam {exam.number}':<12} {_status(exam):<28}"
            f" {f'{open_of[exam.number]} open' if open_of[exam.number] else ''}"
            f"{'approved' if exam.approved else ''}".rstrip()
            for exam in self.visit.exams
        )

    def _corrections(self, _: str) -> str:
        lines = [
            f"  {line.entry:>4}  {line.who}: {line.what}"
            + (f" (taken back by {line.taken_back_by})" if line.taken_back_by else "")
            for line in history(self.visit).lines.values()
        ]
        return "\n".join(lines) or "Nothing was corrected yet."

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
        lines = [
            "Type an answer's number, 0 for none of them, or what is right, as it is spoken or"
        ]
        lines.append("in short ('l ov cl 22'), then Enter. Control-R plays, Control-Z takes back.")
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
    "list": Desk._list,
    "done": Desk._corrections,
    "why": Desk._reason,
    "help": Desk._help,
    "quit": Desk._quit,
}
"""What changes only what is looked at; all else is put right by an order."""


def _status(exam: Exam) -> str:
    said = (written(f) for f in exam.findings if isinstance(f, Pregnancy))
    return "; ".join(said) or "not said if in calf"


def _entry(text: str) -> int:
    if not (text.isascii() and text.isdigit()) or len(text) > 15:
        raise WrongUseError(f"'{text}' is no entry: give its number, or nothing for the last.")
    return int(text)
