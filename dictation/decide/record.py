"""A visit and its journal: an input is decided on what is there, written, and only then applied.

Live speech, the desk and the page all come through here. Where somebody else added an entry in
between, it is read first and the input decided again; where it changed the very thing that a person
was putting right, nothing is done and they are told.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from dictation.decide.conflicts import changed_meanwhile
from dictation.decide.deciding import VOICE, decide
from dictation.errors import WrongUseError
from dictation.visit.apply import after
from dictation.visit.inputs import By, Deed, Input, Noted
from dictation.visit.journal import Clock, Journal
from dictation.visit.state import Act, Visit
from grammar.checks import ONCE_A_VISIT, check_exam
from grammar.exam import Flag

Flags = dict[int, tuple[Flag, ...]]
"""The flags of each exam, by its number."""

Written = Callable[[Visit, Flags], object]
"""Called with the visit after a person's act, to bring its files up to date."""


class ChangedMeanwhileError(WrongUseError):
    """Somebody else changed the same thing first; nothing was done."""


@dataclass(frozen=True, slots=True)
class Step:
    """One entry that was taken: what it did, the visit then, and the flags that came with it."""

    act: Act
    visit: Visit
    raised: tuple[tuple[int, Flag], ...]


def _said_before(number: int, flag: Flag, flags: Flags) -> bool:
    """Whether a caution of the whole visit came with another animal in the same words."""
    others = (f for other, raised in flags.items() if other != number for f in raised)
    return flag.rule in ONCE_A_VISIT and any(f.why == flag.why for f in others)


class Record:
    """``visit`` and ``flags``: what the journal has come to, as far as it was read."""

    def __init__(self, journal: Journal, written: Written | None = None) -> None:
        self.journal = journal
        self._written = written
        self.visit: Visit = journal.visit()
        self.flags: Flags = {exam.number: check_exam(exam) for exam in self.visit.exams}

    @classmethod
    def amend(
        cls, folder: Path, written: Written | None = None, clock: Clock | None = None
    ) -> Record:
        """The visit of a folder for people to put right, also while another program records it."""
        record = cls(Journal.amend(folder, clock), written)
        record._write()  # whole from the start, also after a crash; and what changes is soon told
        return record

    def take(self, given: Input, by: By = VOICE) -> tuple[Step, ...]:
        """Decide, write and apply an input; what happened, with what others did before it."""
        steps: list[Step] = []
        while True:
            at = self.journal.now()
            facts = decide(self.visit, given, by, at)
            if not facts and isinstance(given, Noted):
                return tuple(steps)
            act = self.journal.append(given, facts, by, self.visit.last_seq, at)
            if act is not None:
                return (*steps, self._step(act))
            steps += self.catch_up()

    def put_right(self, deed: Deed, by: By) -> tuple[Step, ...]:
        """What a person does who had seen the visit up to entry ``by.based_on``; what happened.

        Raises ChangedMeanwhileError where what it is about changed since, WrongUseError where it
        would change nothing; nothing is added then.
        """
        steps: list[Step] = []
        while True:
            steps += self.catch_up()
            told = changed_meanwhile(self.visit, deed, by.based_on)
            if told is not None:
                raise ChangedMeanwhileError(told)
            at = self.journal.now()
            facts = decide(self.visit, deed, by, at)
            if not facts:
                raise WrongUseError("That would change nothing.")
            act = self.journal.append(deed, facts, by, self.visit.last_seq, at)
            if act is not None:
                steps.append(self._step(act))
                self._write()
                return tuple(steps)

    def catch_up(self) -> tuple[Step, ...]:
        """Take in what others have added to the journal meanwhile."""
        return tuple([self._step(act) for act in self.journal.acts(self.visit.last_seq)])

    def close(self) -> None:
        """Let the journal go."""
        self.journal.close()

    def __enter__(self) -> Record:
        return self

    def __exit__(self, *error: object) -> None:
        self.close()

    def _step(self, act: Act) -> Step:
        before, known = self.visit, self.flags
        visit = after(before, act)
        same = {id(exam) for exam in before.exams}
        self.flags = {
            exam.number: known[exam.number] if id(exam) in same else check_exam(exam)
            for exam in visit.exams
        }
        # The visit comes last: where a signal stops this in between, the entry is read again.
        self.visit = visit
        raised = tuple(
            (number, flag)
            for number, flags in self.flags.items()
            if flags is not known.get(number)
            for flag in flags
            if flag not in known.get(number, ()) and not _said_before(number, flag, self.flags)
        )
        return Step(act, self.visit, raised)

    def _write(self) -> None:
        if self._written is None:
            return
        self._written(self.visit, self.flags)
        # Another process may have written its older state over ours in the meantime.
        while self.catch_up():
            self._written(self.visit, self.flags)
