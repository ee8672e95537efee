"""What was changed in a visit: was, is, who, when and why, as CSV and as a page."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from dictation.decide.people.history import ends_of, exams_of, history, stands
from dictation.decide.people.signing import standing
from dictation.decide.record import Flags
from dictation.disk import replace_file
from dictation.records.cells import Cell, table
from dictation.records.plain_page import PlainTable, plain_page
from dictation.visit.state import Act, Visit

CHANGES_HEADER = (
    "entry", "at", "who", "exam", "tag", "was", "is", "what", "why", "taken_back_by",
)  # fmt: skip


def write_changes(folder: Path, visit: Visit, flags: Flags) -> tuple[Path, ...]:
    """changes.csv and changes.html in a folder; their paths. Raises MissingError."""
    rows = tuple(change_rows(visit))
    paths = (folder / "changes.csv", folder / "changes.html")
    replace_file(paths[0], table(CHANGES_HEADER, rows))
    words = tuple(tuple("" if cell is None else str(cell) for cell in row) for row in rows)
    columns = ("Entry", "When (UTC)", "Who", "Exam", "Tag", "Was", "Is", "What", "Why", "Undone by")
    farm = f"{visit.farm}, " if visit.farm else ""
    title = f"What was changed: {farm}{visit.on_date or ''}"
    notes = (f"The visit: {standing(visit, flags)}.",)
    page = plain_page(title, notes, (PlainTable("", columns, words),))
    replace_file(paths[1], page.encode("utf-8"))
    return paths


def change_rows(visit: Visit) -> Iterator[tuple[Cell, ...]]:
    """A row a finding that people, or a later phrase, changed; one of any other deed."""
    for line in history(visit).lines.values():
        act = visit.acts[line.entry]
        ends = [(was, now) for was, now in ends_of(act.facts) if stands(was) != stands(now)]
        head = (line.entry, act.at, line.who)
        tail = (line.what, line.why, line.taken_back_by)
        for was, now in ends:
            placed = was if now is None else now
            number = None if placed is None else placed.exam
            yield *head, *_animal(visit, number), stands(was), stands(now), *tail
        if not ends:
            yield *head, *_animal(visit, _exam_of(act)), None, None, *tail


def _exam_of(act: Act) -> int | None:
    exams = dict.fromkeys(number for fact in act.facts for number in exams_of(fact) if number)
    return next(iter(exams)) if len(exams) == 1 else None


def _animal(visit: Visit, number: int | None) -> tuple[Cell, Cell]:
    exam = visit.exam(number)
    return number, None if exam is None else exam.tag
