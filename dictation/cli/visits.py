"""Opening visits for the commands: which folder, which engine, which herd list."""

from __future__ import annotations

from collections.abc import Hashable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path

import click

from dictation.cli.console import bar, sentence
from dictation.errors import BadInputError
from dictation.recognition.protocol import Recogniser
from dictation.records.herd_list import HerdList, read_herd_list
from dictation.records.visit_files import write_visit_files
from dictation.session.doubt import Parse
from dictation.session.events import HerdListed
from dictation.session.fold import fold
from dictation.session.happenings import Flags
from dictation.session.journal import Journal
from dictation.session.replay import Tell
from dictation.session.session import Session
from dictation.session.visit import Visit
from grammar.checks import check_visit
from grammar.parse import parse


@dataclass(frozen=True, slots=True)
class When:
    """The day of a visit, and the time of day at which its recording began where that was given."""

    on: date
    started_at: str | None = None


class VisitDate(click.ParamType[When]):
    """An ISO 8601 date, or a date and time."""

    name = "date"

    def convert(
        self, value: object, param: click.Parameter | None, ctx: click.Context | None
    ) -> When:
        """'2026-11-18' or '2026-11-18T09:00'."""
        if isinstance(value, When):
            return value
        text = str(value)
        try:
            return When(date.fromisoformat(text))
        except ValueError:
            pass
        try:
            moment = datetime.fromisoformat(text)
        except ValueError:
            self.fail(f"'{text}' is no date like 2026-11-18 or 2026-11-18T09:00.", param, ctx)
        return When(moment.date(), moment.isoformat(timespec="seconds"))


def folder_for(out: Path | None, on: date) -> Path:
    """The folder of a visit: as given, else named by its date in the current folder."""
    return out if out is not None else Path(f"visit-{on.isoformat()}")


def load_engine(name: str, model_dir: Path | None = None) -> Recogniser:
    """Load a recogniser for the language of the exam. Raises MissingError, WrongUseError."""
    from dictation.recognition.engines import engine
    from grammar.constraint import constraint

    with bar("loading the recogniser"):
        return engine(name, constraint(), values_of, model_dir=model_dir)


def values_of(normal: str) -> Hashable | None:
    """What a text says, to tell hearings with other values apart; None where it cannot be read."""
    reading = parse(normal)
    return None if reading.unread is not None else tuple(said.what for said in reading.said)


def herd_event(path: Path) -> HerdListed:
    """A herd list as the event that takes it up. Raises BadInputError."""
    herd: HerdList = read_herd_list(path)
    return HerdListed(herd.digest, herd.source, herd.animals)


@contextmanager
def session_in(  # noqa: PLR0913, PLR0917 - what a visit starts with
    folder: Path,
    when: When | None,
    herd: Path | None,
    recogniser: Recogniser | None,
    farm: str | None = None,
    tell: Tell = sentence,
    understand: Parse = parse,
) -> Iterator[Session]:
    """The visit in a folder, begun or gone on with; its CSV files are written at the end.

    They are written however the work ended, as long as the visit itself could be opened.
    """
    listed = None if herd is None else herd_event(herd)
    with Journal.write(folder) as journal:
        session = Session(journal, understand, recogniser)
        on = None if when is None else when.on
        if session.begin(on, date.today(), farm):
            tell(f"{folder} holds the visit of {session.visit.on_date}; it goes on there.")
        if listed is not None:
            session.list_herd(listed)
        try:
            yield session
        finally:
            session.catch_up()
            write_visit_files(folder, session.visit, session.flags)
            # Somebody may have put something right, and written it, between those two.
            while session.journal.moved_on(session.visit.last_seq):
                session.catch_up()
                write_visit_files(folder, session.visit, session.flags)


def read_visit(folder: Path, herd: Path | None = None) -> tuple[Visit, Flags]:
    """The visit of a folder with its flags, read without writing; ``herd`` only for this look."""
    if not folder.is_dir():
        raise BadInputError(f"{folder} is not the folder of a visit: check its name.")
    with Journal.read(folder) as journal:
        visit = fold(journal.entries())
    if visit.on_date is None:
        raise BadInputError(f"{folder} holds no visit yet: nothing was recorded in it.")
    if herd is not None:
        visit = with_herd(visit, herd)
    return visit, check_visit(visit.exams)


def with_herd(visit: Visit, herd: Path) -> Visit:
    """The visit as it looks beside another herd list."""
    from dictation.session.events import Entry
    from dictation.session.fold import step

    return step(visit, Entry(visit.last_seq + 1, "", herd_event(herd)))


def visits_under(folder: Path, but: Path) -> list[Visit]:
    """Every visit in the folders of ``folder``, one excepted. Raises BadInputError."""
    if not folder.is_dir():
        raise BadInputError(f"{folder} is no folder of visits: check its name.")
    found: list[Visit] = []
    for path in sorted(folder.glob("*/visit.sqlite")):
        if path.parent.resolve() != but.resolve():
            with Journal.read(path.parent) as journal:
                found.append(fold(journal.entries()))
    return [visit for visit in found if visit.on_date is not None]
