"""Lines of many visits: those the visits keep, and the others folded once.

What had to be folded is kept where a session would have left it: beside the visit's journal.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path

from dictation.errors import HornsweepError
from dictation.records.practice.folding import fold_each
from dictation.records.practice.visit_lines import VisitLines, kept_lines
from dictation.visit.journal import JOURNAL_NAME
from dictation.visit.journal_state import JournalState, journal_state

Told = Callable[[int, int], None]
"""Told how many journals are folded, of how many."""


@dataclass(frozen=True, slots=True)
class FarmVisit:
    """A visit's lines. ``farm``: where it names none, the name of the folder around it."""

    folder: Path
    farm: str
    lines: VisitLines


@dataclass(frozen=True, slots=True)
class Gathered:
    """``kept``, ``folded``: visits whose lines lay beside their journal, and visits that were
    folded now. ``left_out``: sentences on journals not read."""

    visits: tuple[FarmVisit, ...]
    kept: int
    folded: int
    left_out: tuple[str, ...]


def visit_folders(roots: Iterable[Path]) -> tuple[Path, ...]:
    """Folders of visits: those given, and those in them at any depth; each once, in order."""
    found: dict[Path, None] = {}
    for root in roots:
        if (root / JOURNAL_NAME).is_file():
            found[root.resolve()] = None
        for path in sorted(root.rglob(JOURNAL_NAME)):
            found[path.parent.resolve()] = None
    return tuple(found)


def gather(folders: tuple[Path, ...], tell: Told | None = None, afresh: bool = False) -> Gathered:
    """The lines of all visits. ``afresh``: every journal is folded, and nothing is kept."""
    states, left_out = _states(folders)
    found = {} if afresh else _kept(states)
    kept = len(found)
    missing = tuple(folder for folder in states if folder not in found)
    each = zip(missing, fold_each(missing, keep=not afresh), strict=True)
    for count, (folder, lines) in enumerate(each, start=1):
        if isinstance(lines, str):
            left_out.append(lines)
        else:
            found[folder] = lines
        if tell is not None:
            tell(count, len(missing))
    visits = (
        FarmVisit(folder, found[folder].farm or folder.parent.name, found[folder])
        for folder in states
        if folder in found
    )
    return Gathered(tuple(visits), kept, len(missing), tuple(left_out))


def _states(folders: tuple[Path, ...]) -> tuple[dict[Path, JournalState], list[str]]:
    states: dict[Path, JournalState] = {}
    left_out: list[str] = []
    for folder in folders:
        try:
            states[folder] = journal_state(folder)
        except HornsweepError as error:
            left_out.append(str(error))
    return states, left_out


def _kept(states: dict[Path, JournalState]) -> dict[Path, VisitLines]:
    found = ((folder, kept_lines(folder, state)) for folder, state in states.items())
    return {folder: lines for folder, lines in found if lines is not None}
