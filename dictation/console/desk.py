"""The recorder's desk in the console: one matter at a time, and what a typed line does to it.

Nothing here reads a key or the clock: a line comes in, a correction goes to the journal, and a
sentence of what was done comes back.
"""

from __future__ import annotations

from collections.abc import Callable

from dictation.console.desk_orders import how_to
from dictation.errors import WrongUseError
from dictation.session.agenda import Matter, agenda
from dictation.session.breath import standing_of
from dictation.session.corrections import Corrections
from dictation.session.deeds import last_to_undo
from dictation.session.events import (
    FINDINGS_AN_UTTERANCE,
    Approved,
    Choice,
    Correction,
    Inserted,
    Merged,
    PhraseMoved,
    QueryAnswered,
    Renumbered,
    Split,
    Withdrawn,
)
from dictation.session.review_events import ExamAdded, Rephrased, Undone
from dictation.session.typed_phrase import exam_named, findings_typed, tag_typed
from dictation.session.visit import Fate, Utterance, Visit
from grammar.exam import Exam
from grammar.wording import written

Play = Callable[[str], None]
"""Plays an audio file of the visit by its name. Raises MissingError where that cannot be."""


class Desk:
    """Where the recorder stands in a visit."""

    def __init__(self, corrections: Corrections, who: str, play: Play) -> None:
        self._corrections = corrections
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
        return self._corrections.visit

    @property
    def matter(self) -> Matter | None:
        """What is looked at now: a chosen phrase, else the most urgent matter not passed over."""
        if self._chosen is not None:
            return self._chosen
        waiting = self.waiting
        return next((m for m in waiting if m.key not in self._passed), None)

    @property
    def waiting(self) -> tuple[Matter, ...]:
        """All matters left."""
        return agenda(self.visit, self._corrections.flags)

    @property
    def exam(self) -> Exam | None:
        """The animal that is looked at."""
        matter = self.matter
        return None if matter is None else self.visit.exam(matter.exam)

    @property
    def utterance(self) -> Utterance | None:
        """The phrase that is looked at."""
        matter = self.matter
        if matter is None or matter.utterance is None:
            return None
        return self.visit.utterance(matter.utterance)

    def refresh(self) -> bool:
        """Read what others have done meanwhile; whether there was anything."""
        return self._corrections.refresh()

    def take(self, line: str) -> str:
        """Do what a line says; a sentence of what was done. Raises WrongUseError, MissingError."""
        words = line.strip()
        if not words:
            return self._next("")
        if words.isdigit() and len(words) == 1 and self._asks():
            return self.answer(int(words))
        if words.startswith("/"):
            name, _, rest = words[1:].partition(" ")
            return self._order(name.lower(), rest.strip())
        return self._phrase(words)

    def answer(self, number: int) -> str:
        """Take alternative ``number`` of what is asked; 0 is none of them."""
        matter = self.matter
        if matter is None or matter.query is None:
            raise WrongUseError("Nothing is asked here: type what is right, or /help.")
        if number == 0:
            return self._none("")
        alternatives = matter.query.alternatives
        if not 1 <= number <= len(alternatives):
            raise WrongUseError(f"There is no answer {number}: {len(alternatives)} are offered.")
        self._put(QueryAnswered(matter.query.id, Choice.TAKE, number, self._who))
        return f"Taken: {alternatives[number - 1].words}."

    def _asks(self) -> bool:
        matter = self.matter
        return matter is not None and matter.query is not None

    def _order(self, name: str, rest: str) -> str:
        orders: dict[str, Callable[[str], str]] = {
            "play": self._played,
            "none": self._none,
            "keep": self._keep,
            "next": self._next,
            "back": self._back,
            "go": self._go,
            "insert": self._insert,
            "withdraw": self._withdraw,
            "move": self._move,
            "merge": self._merge,
            "split": self._split,
            "tag": self._tag,
            "add": self._add,
            "why": self._reason,
            "approve": self._approve,
            "undo": self._undo,
            "help": lambda _: how_to(),
            "quit": self._quit,
        }
        if name not in orders:
            raise WrongUseError(f"'/{name}' is nothing known here: /help lists what is.")
        return orders[name](rest)

    def _put(self, event: Correction) -> None:
        self._corrections.put(event, self.visit.last_seq)
        self._why = ""
        self._chosen = None

    def _phrase(self, text: str) -> str:
        said = findings_typed(text, self.visit.on_date)
        utterance = self.utterance
        words = ", ".join(written(s.what) for s in said)  # type: ignore[arg-type]
        if utterance is not None and utterance.fate is not Fate.REFUSED:
            self._put(Rephrased(utterance.number, text, said, self._who, self._why))
            return f"It says now: {words}."
        exam = self._exam_here()
        of = None if utterance is None else utterance.number
        self._put(Inserted(exam.number, text, said, self._who, self._why, of))
        return f"Added: {words}."

    def _insert(self, text: str) -> str:
        said = findings_typed(text, self.visit.on_date)
        self._put(Inserted(self._exam_here().number, text, said, self._who, self._why))
        return f"Added: {text}."

    def _played(self, _: str) -> str:
        utterance = self.utterance
        if utterance is None or utterance.audio is None:
            raise WrongUseError("There is no sound of this: it was typed.")
        self._play(utterance.audio)
        return "Played."

    def _none(self, _: str) -> str:
        matter = self.matter
        if matter is None or matter.query is None:
            raise WrongUseError("Nothing is asked here: /withdraw takes a phrase back.")
        self._put(QueryAnswered(matter.query.id, Choice.NONE_OF_THEM, None, self._who))
        return "None of them."

    def _keep(self, _: str) -> str:
        matter = self.matter
        if matter is not None and matter.query is not None:
            if matter.query.alternatives:
                return self.answer(1)
            self._put(QueryAnswered(matter.query.id, Choice.SETTLED, None, self._who))
            return "Settled as it is."
        return self._next("")

    def _next(self, _: str) -> str:
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
        before = self._shown.pop()
        self._passed.discard(before.key)
        self._chosen = None
        return ""

    def _go(self, name: str) -> str:
        exam = exam_named(self.visit, name)
        spoken = [u for u in self.visit.utterances if u.exam == exam.number]
        last = spoken[-1].number if spoken else None
        self._chosen = Matter(exam.number, last)
        return ""

    def _withdraw(self, which: str) -> str:
        utterance = self._utterance_here()
        standing = standing_of(self.visit, utterance.number)
        if not standing:
            raise WrongUseError("Nothing of this phrase is recorded.")
        if not which:
            self._put(Rephrased(utterance.number, "", (), self._who, self._why))
            return "Withdrawn: the whole phrase."
        numbers = [r for r in standing if str(r.number % FINDINGS_AN_UTTERANCE) == which]
        if not numbers:
            raise WrongUseError(f"There is no finding {which} in this phrase.")
        self._put(Withdrawn(numbers[0].number, self._who, self._why))
        return f"Withdrawn: {written(numbers[0].finding)}."

    def _move(self, name: str) -> str:
        utterance, target = self._utterance_here(), exam_named(self.visit, name)
        self._put(PhraseMoved(utterance.number, target.number, self._who, self._why))
        return f"Moved to {_named(target)}."

    def _merge(self, name: str) -> str:
        exam, into = self._exam_here(), exam_named(self.visit, name)
        self._put(Merged(exam.number, into.number, self._who, self._why))
        return f"Merged into {_named(into)}."

    def _split(self, _: str) -> str:
        exam, utterance = self._exam_here(), self._utterance_here()
        self._put(Split(exam.number, utterance.number, self._who, self._why))
        return f"From '{utterance.text}' on it is exam {self.visit.last_exam}."

    def _tag(self, tag: str) -> str:
        self._put(Renumbered(self._exam_here().number, tag_typed(tag), self._who, self._why))
        return f"Tag {tag}."

    def _add(self, tag: str) -> str:
        exam = self.exam
        after = None if exam is None else exam.number
        self._put(ExamAdded(after, tag_typed(tag), self._who, self._why))
        return f"Added: tag {tag}, exam {self.visit.last_exam}."

    def _reason(self, words: str) -> str:
        self._why = words
        return f"Reason for the next correction: {words}." if words else "No reason."

    def _approve(self, what: str) -> str:
        if what == "visit":
            self._put(Approved(None, self._who))
            return f"The visit is approved by {self._who}."
        exam = self._exam_here()
        self._put(Approved(exam.number, self._who))
        return f"{_named(exam)} is approved by {self._who}."

    def _undo(self, _: str) -> str:
        last = last_to_undo(self.visit)
        if last is None:
            raise WrongUseError("There is no correction to take back.")
        self._put(Undone(last.seq, self._who, self._why))
        return f"Taken back: what {last.who} did."

    def _quit(self, _: str) -> str:
        self.left = True
        return ""

    def _exam_here(self) -> Exam:
        exam = self.exam
        if exam is None:
            raise WrongUseError("No animal is looked at: '/go TAG' chooses one.")
        return exam

    def _utterance_here(self) -> Utterance:
        utterance = self.utterance
        if utterance is None:
            raise WrongUseError("No phrase is looked at: '/go TAG' chooses an animal's last one.")
        return utterance


def _named(exam: Exam) -> str:
    return f"Tag {exam.tag}" if exam.tag else f"Exam {exam.number}"
