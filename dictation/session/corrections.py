"""A visit at the desk: read while others record it, corrected one event at a time.

Every correction names the event up to which its author had seen the visit. In one transaction the
newest state is read, what the correction is about is compared, and only then it is added: nobody
overwrites what somebody else did in between.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from types import TracebackType

from dictation.errors import WrongUseError
from dictation.session.clock import Clock
from dictation.session.events import Correction, Entry
from dictation.session.fold import fold, step
from dictation.session.happenings import Flags
from dictation.session.journal import Journal
from dictation.session.meanwhile import changed_meanwhile
from dictation.session.visit import Visit
from grammar.checks import check_exam

SEEN_KEPT = 500
"""States of the visit kept in memory for those who looked earlier; older ones are folded anew."""

Written = Callable[[Visit, Flags], None]
"""Called with the visit after a correction, to bring its files up to date."""


class ChangedMeanwhileError(WrongUseError):
    """Somebody else changed the same thing first; nothing was done."""


class Corrections:
    """The visit of a folder as people put it right. ``visit``, ``flags``: the newest read."""

    def __init__(
        self, folder: Path, written: Written | None = None, clock: Clock | None = None
    ) -> None:
        self.folder = folder
        self._journal = Journal.amend(folder, clock)
        self._written = written
        self.visit: Visit = fold(self._journal.entries())
        self.flags: Flags = {exam.number: check_exam(exam) for exam in self.visit.exams}
        self._seen: dict[int, Visit] = {self.visit.last_seq: self.visit}

    def refresh(self) -> bool:
        """Read what others have added meanwhile; whether there was anything."""
        seq = self.visit.last_seq
        for entry in self._journal.entries(seq):
            self._take(entry)
        return self.visit.last_seq != seq

    def seen_at(self, seq: int) -> Visit:
        """The visit as it was after event ``seq``."""
        if seq in self._seen:
            return self._seen[seq]
        return fold(entry for entry in self._journal.entries() if entry.seq <= seq)

    def entries(self) -> Iterator[Entry]:
        """All events of the visit, as they lie in the journal."""
        return self._journal.entries()

    def put(self, event: Correction, based_on: int) -> Entry:
        """Add a correction whose author had seen the visit up to event ``based_on``.

        Raises ChangedMeanwhileError where what it is about changed since, WrongUseError where it
        would change nothing; nothing is added then.
        """
        with self._journal.alone():
            self.refresh()
            told = changed_meanwhile(self.seen_at(based_on), self.visit, event)
            if told is not None:
                raise ChangedMeanwhileError(told)
            event = replace(event, based_on=based_on)
            tried = step(self.visit, Entry(self.visit.last_seq + 1, "", event))
            if len(tried.deeds) == len(self.visit.deeds):
                raise WrongUseError("That would change nothing.")
            entry = self._journal.append(event)
        self._take(entry)
        self._write()
        return entry

    def close(self) -> None:
        """Let the journal go."""
        self._journal.close()

    def __enter__(self) -> Corrections:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def _take(self, entry: Entry) -> None:
        before = self.visit
        self.visit = step(before, entry)
        known = {id(exam) for exam in before.exams}
        self.flags = {
            exam.number: self.flags[exam.number] if id(exam) in known else check_exam(exam)
            for exam in self.visit.exams
        }
        self._seen[self.visit.last_seq] = self.visit
        if len(self._seen) > SEEN_KEPT:
            del self._seen[min(self._seen)]

    def _write(self) -> None:
        if self._written is None:
            return
        self._written(self.visit, self.flags)
        # Another process may have written its older state over ours in the meantime.
        while self.refresh():
            self._written(self.visit, self.flags)
