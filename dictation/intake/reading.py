"""A visit of a folder, to be looked at and not to be written."""

from __future__ import annotations

from pathlib import Path

from dictation.decide.draft import Draft
from dictation.decide.record import Flags
from dictation.errors import BadInputError, HornsweepError
from dictation.intake.upgrade import Tell, journal_to_read
from dictation.records.herd_list import read_herd_list
from dictation.visit.journal import JOURNAL_NAME
from dictation.visit.state import Visit
from grammar.checks import check_visit


def read_visit(
    folder: Path, herd: Path | None = None, tell: Tell = lambda sentence: None
) -> tuple[Visit, Flags]:
    """The visit of a folder with its flags, read without writing; ``herd`` only for this look.

    ``tell`` is told what of it is damaged, where the rest can be used.
    """
    if not folder.is_dir():
        raise BadInputError(f"{folder} is not the folder of a visit: check its name.")
    with journal_to_read(folder) as journal:
        visit = journal.visit()
        for line in journal.damage():
            tell(line)
    if visit.on_date is None:
        raise BadInputError(f"{folder} holds no visit yet: nothing was recorded in it.")
    if herd is not None:
        draft = Draft(visit)
        draft.add(read_herd_list(herd))
        for exam in visit.exams:
            draft.name(exam.number)
        visit = draft.visit
    return visit, check_visit(visit.exams)


def visits_under(among: Path, but: Path) -> tuple[list[Visit], list[str]]:
    """Visits in the folders of ``among``, or in itself, or, where it is ``but``, beside it.

    One excepted. Beside them a sentence for each that cannot be read. Raises BadInputError where
    ``among`` is no folder.
    """
    if not among.is_dir():
        raise BadInputError(f"{among} is no folder of visits: check its name.")
    one = but.resolve()
    folder = one.parent if among.resolve() == one else among
    found: list[Visit] = []
    damaged: list[str] = []
    for path in sorted((folder / JOURNAL_NAME, *folder.glob(f"*/{JOURNAL_NAME}"))):
        if not path.is_file() or path.parent.resolve() == one:
            continue
        try:
            with journal_to_read(path.parent) as journal:
                found.append(journal.visit())
        except HornsweepError as error:
            damaged.append(str(error))
    return [visit for visit in found if visit.on_date is not None], damaged
