"""questions.csv: what is still asked of a visit, with its answers. Written, and read again.

A question is one row or more, with its ``number`` within the exam. ``choice`` is the number of a
choice, 'no' for none of them, or empty in a question without any. ``then`` says what stands if it
is taken: in ``row`` (of this exam in findings.csv, from 1) is 'recorded' what the cells behind it
say, or it is 'withdrawn'; 'as it is' changes nothing. Where ``then`` is empty, that choice can only
be taken in the visit itself.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from pathlib import Path

from dictation.records.cells import Cell, table
from dictation.records.findings_reading import CellError, read_finding, whole
from dictation.records.findings_rows import finding_cells
from dictation.records.herd.mistakes import Mistakes
from dictation.records.open_questions import asked_of
from dictation.records.rows import Row, rows_of
from dictation.records.writing import bring_up_to_date
from dictation.visit.effects import Alternative, Effect, SetTo
from dictation.visit.inputs import Asked
from dictation.visit.parts import Query
from dictation.visit.state import Visit
from grammar.findings import Finding

QUESTIONS_NAME = "questions.csv"

QUESTIONS_HEADER = (
    "exam",
    "number",
    "question",
    "why",
    "choice",
    "words",
    "then",
    "row",
    "finding",
    "side",
    "detail",
    "value",
    "unit",
    "fetus",
)

NO = "no"
RECORDED, WITHDRAWN, AS_IT_IS = "recorded", "withdrawn", "as it is"
_NOTHING: tuple[Cell, ...] = (None,) * 6


def questions_csv(visit: Visit) -> bytes:
    """The content of questions.csv."""
    return table(QUESTIONS_HEADER, _rows(visit))


def write_questions(folder: Path, visit: Visit) -> Path:
    """Write questions.csv into a folder. Raises MissingError where there is no room."""
    path = folder / QUESTIONS_NAME
    bring_up_to_date(path, questions_csv(visit))
    return path


def _rows(visit: Visit) -> Iterator[tuple[Cell, ...]]:
    counted: Counter[int | None] = Counter()
    for query in visit.open_queries:
        counted[query.exam] += 1
        head = (query.exam, counted[query.exam], query.question, query.why)
        yield from ((*head, *cells) for cells in _choices(visit, query))


def _choices(visit: Visit, query: Query) -> Iterator[tuple[Cell, ...]]:
    asked = asked_of(visit, query)
    if asked is None:
        words = [each.words for each in query.alternatives]
        numbered: list[tuple[Cell, Cell]] = [*enumerate(words, start=1)]
        yield from ((*each, None, None, *_NOTHING) for each in numbered or [(None, None)])
        return
    for number, each in enumerate(asked.alternatives, start=1):
        yield from ((number, each.words, *cells) for cells in _effect(each.effect))
    if asked.no is not None:
        yield from ((NO, None, *cells) for cells in _effect(asked.no))


def _effect(effect: Effect) -> list[tuple[Cell, ...]]:
    assert isinstance(effect, SetTo)
    rows: list[tuple[Cell, ...]] = [
        (RECORDED, place, *finding_cells(finding)) for place, finding in effect.changes
    ]
    rows += [(WITHDRAWN, place, *_NOTHING) for place in effect.withdraw]
    return rows or [(AS_IT_IS, None, *_NOTHING)]


def read_questions(folder: Path, rows_of_exam: dict[int, int]) -> dict[int, tuple[Asked, ...]]:
    """The questions of each exam. ``rows_of_exam``: how many rows each has in findings.csv.

    Raises BadInputError with every mistake in the file.
    """
    path = folder / QUESTIONS_NAME
    mistakes = Mistakes(path)
    found: dict[int, list[_Question]] = {}
    for line, row in rows_of(path, QUESTIONS_HEADER):
        if not row["exam"]:
            continue
        try:
            exam = whole(row["exam"], "exam")
            if exam not in rows_of_exam:
                raise CellError("exam", f"{exam} is not in exams.csv")
            mine, number = found.setdefault(exam, []), whole(row["number"], "number")
            if number == len(mine) + 1:
                mine.append(_Question(row))
            elif number != len(mine) or not mine:
                raise CellError("number", f"'{number}' does not follow the question before it")
            mine[-1].take(row, rows_of_exam[exam])
        except CellError as error:
            mistakes.add(line, error.column, str(error))
    mistakes.stop_if_any()
    return {exam: tuple(each.asked() for each in mine) for exam, mine in found.items()}


def questions_of_no_exam(folder: Path) -> tuple[str, ...]:
    """Questions that were asked between animals: they belong to no exam, and are not read."""
    path = folder / QUESTIONS_NAME
    rows = rows_of(path, QUESTIONS_HEADER) if path.is_file() else []
    return tuple({row["number"]: row["question"] for _, row in rows if not row["exam"]}.values())


class _Question:
    """The rows of one question, as they are read."""

    def __init__(self, row: Row) -> None:
        self._question, self._why = row["question"], row["why"]
        self._words: dict[str, str] = {}
        self._changes: dict[str, list[tuple[int, Finding]]] = {}
        self._withdraw: dict[str, list[int]] = {}
        self._untold = False

    def take(self, row: Row, last_row: int) -> None:
        """One more row. Raises CellError."""
        choice, then = row["choice"], row["then"]
        if (row["question"], row["why"]) != (self._question, self._why):
            raise CellError("question", "is another than in the row before of the same number")
        if not choice or not then:
            self._untold = True
            return
        if choice != NO and whole(choice, "choice") not in {len(self._words), len(self._words) + 1}:
            raise CellError("choice", f"'{choice}' does not follow the choice before it")
        if choice != NO:
            self._words[choice] = row["words"]
        changes = self._changes.setdefault(choice, [])
        withdraw = self._withdraw.setdefault(choice, [])
        if then == AS_IT_IS:
            return
        place = whole(row["row"], "row")
        if not 1 <= place <= last_row:
            raise CellError("row", f"{place} is no row of this exam in findings.csv")
        if then == WITHDRAWN:
            withdraw.append(place)
        elif then == RECORDED:
            changes.append((place, read_finding(row)))
        else:
            raise CellError("then", f"'{then}' is none of {RECORDED}, {WITHDRAWN}, {AS_IT_IS}")

    def asked(self) -> Asked:
        """The question; without choices where not all of them are told."""
        if self._untold:
            return Asked(self._question, self._why)
        choices = tuple(Alternative(words, self._set_to(n)) for n, words in self._words.items())
        no = self._set_to(NO) if NO in self._changes else None
        return Asked(self._question, self._why, choices, no)

    def _set_to(self, choice: str) -> SetTo:
        return SetTo(tuple(self._changes[choice]), tuple(self._withdraw[choice]))
