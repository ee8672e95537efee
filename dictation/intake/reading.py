"""A visit of a folder, to be looked at and not to be written."""

from __future__ import annotations

from pathlib import Path

from dictation.decide.draft import Draft
from dictation.decide.record import Flags
from dictation.errors import BadInputError
from dictation.intake.upgrade import journal_to_read
from dictation.records.herd_list import read_herd_list
from dictation.visit.state import Visit
from grammar.checks import check_visit


def read_visit(folder: Path, herd: Path | None = None) -> tuple[Visit, Flags]:
    """The visit of a folder with its flags, read without writing; ``herd`` only for this look."""
    if not folder.is_dir():
        raise BadInputError(f"{folder} is not the folder of a visit: check its name.")
    with journal_to_read(folder) as journal:
        visit = journal.visit()
    if visit.on_date is None:
        raise BadInputError(f"{folder} holds no visit yet: nothing was recorded in it.")
    if herd is not None:
        draft = Draft(visit)
        draft.add(read_herd_list(herd))
        for exam in visit.exams:
            draft.name(exam.number)
        visit = draft.visit
    return visit, check_visit(visit.exams)


def visits_under(folder: Path, but: Path) -> list[Visit]:
    """Every visit in the folders of ``folder``, one excepted. Raises BadInputError."""
    if not folder.is_dir():
        raise BadInputError(f"{folder} is no folder of visits: check its name.")
    found: list[Visit] = []
    for path in sorted(folder.glob("*/visit.sqlite")):
        if path.parent.resolve() != but.resolve():
            with journal_to_read(path.parent) as journal:
                found.append(journal.visit())
    return [visit for visit in found if visit.on_date is not None]
