"""A visit opened to be recorded: begun, or gone on with; its files are whole however it ends."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date
from functools import partial
from pathlib import Path

from dictation.decide.doubt import Parse
from dictation.errors import HornsweepError
from dictation.intake.reading import herd_fact
from dictation.intake.upgrade import brought_up
from dictation.live.replay import Tell
from dictation.live.session import Session
from dictation.recognition.protocol import Recogniser
from dictation.records.visit_files import write_records, write_visit_files
from dictation.visit.inputs import Noted
from dictation.visit.journal import Journal
from grammar.parse import parse


@dataclass(frozen=True, slots=True)
class Begin:
    """What a visit begins with. ``on``: its day; None goes on with whatever is there."""

    folder: Path
    on: date | None = None
    herd: Path | None = None
    farm: str | None = None


@contextmanager
def session_in(
    begin: Begin,
    recogniser: Recogniser | None,
    tell: Tell = lambda sentence: None,
    understand: Parse = parse,
) -> Iterator[Session]:
    """The visit in a folder. Its CSV files are written as each animal closes and at the end.

    They are written however the work ended, as long as the visit itself could be opened; what went
    wrong first is what is raised.
    """
    folder = begin.folder
    listed = None if begin.herd is None else herd_fact(begin.herd)
    brought_up(folder, tell)
    with Journal.write(folder) as journal:
        session = Session(journal, understand, recogniser, partial(write_records, folder))
        if session.begin(begin.on, date.today(), begin.farm):
            tell(f"{folder} holds the visit of {session.visit.on_date}; it goes on there.")
            _write(session, tell)  # whole again after a crash, and the next animal costs little
        if listed is not None:
            session.take(Noted(listed))
        try:
            yield session
        except BaseException:
            _write(session, tell)
            raise
        _write(session, None)


def _write(session: Session, tell: Tell | None) -> None:
    """The files of the visit as it is now; a failure is raised, or told where ``tell`` is given."""
    folder = session.journal.folder
    try:
        session.catch_up()
        write_visit_files(folder, session.visit, session.flags)
        # Somebody may have put something right, and written it, between those two.
        while session.journal.moved_on(session.visit.last_seq):
            session.catch_up()
            write_visit_files(folder, session.visit, session.flags)
    except HornsweepError as error:
        if tell is None:
            raise
        tell(str(error))
