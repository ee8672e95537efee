"""questions.csv: what is still asked of a visit, with its answers. Written, and read again.

A question is one row or more, with its ``number`` within the exam. ``choice`` is the number of a
choice, 'no' for none of them, or empty in a question without any. ``then`` says what stands if it
is taken: in ``row`` (of this exam in findings.csv, from 1) is 'recorded' what the cells behind it
say, or it is 'withdrawn'; 'as it is' changes nothing. Where ``then`` is empty, that choice does
more than can be told in rows (another animal, an earlier phrase taken back), and can only be taken
in the visit itself.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

from dictation.decide.draft import standing_of
from dictation.records.cells import Cell, table
from dictation.records.findings_rows import (
    FINDING_COLUMNS,
    CellError,
    finding_cells,
    read_finding,
    whole,
)
from dictation.records.herd.sheet import Mistakes, Row, rows_of
from dictation.visit.facts import ExamClosed, ExamSet, Fact, FindingSet, QuerySet, TakenBack
from dictation.visit.inputs import Asked
from dictation.visit.parts import (
    Alternative,
    Drop,
    Effect,
    Instead,
    JoinBack,
    Keep,
    Query,
    SetTo,
    TakeBack,
)
from dictation.visit.state import Visit
from grammar.exam import Exam, FindingState, RecordedFinding
from grammar.findings import Animal, Command, Said

QUESTIONS_NAME = "questions.csv"

QUESTIONS_HEADER = (
    *("exam", "number", "question", "why", "choice", "words", "then", "row"),
    *FINDING_COLUMNS,
)
NO = "no"
RECORDED, WITHDRAWN, AS_IT_IS = "recorded", "withdrawn", "as it is"
_NOTHING: tuple[Cell, ...] = (None,) * 6


def questions_csv(visit: Visit) -> bytes:
    """The content of questions.csv."""
    return table(QUESTIONS_HEADER, _rows(visit))


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


def asked_of(visit: Visit, query: Query) -> Asked | None:
    """The question with findings named by their place in the exam, from 1; None where it cannot."""
    exam = visit.exam(query.exam)
    # Taking back a phrase that did more than record touches other things too.
    if exam is None or any(_is_more(fact, query.phrase) for fact in _facts_of(visit, query)):
        return None
    effects = [_in_rows(visit, query, exam, each.effect) for each in query.alternatives]
    no = _in_rows(visit, query, exam, query.no or _what_was_asked(visit, query))
    told = [effect for effect in effects if effect is not None]
    if no is None or len(told) != len(effects):
        return None
    worded = zip(query.alternatives, told, strict=True)
    alternatives = tuple(Alternative(each.words, effect) for each, effect in worded)
    return Asked(query.question, query.why, alternatives, no)


def _what_was_asked(visit: Visit, query: Query) -> SetTo:
    """What 'no' takes back, where nothing else is said: what is asked of the phrase."""
    mine = standing_of(visit, query.phrase)
    return SetTo((), tuple(r.number for r in mine if r.state is FindingState.QUERIED))


def _facts_of(visit: Visit, query: Query) -> tuple[Fact, ...]:
    """What the phrase did that raised the query; nothing where it came out of a file."""
    act = visit.act_of(query.phrase)
    return () if act is None else act.facts


def _is_more(fact: Fact, phrase: int) -> bool:
    """Another exam by itself, an earlier finding or question changed, an entry taken back."""
    match fact:
        case ExamSet():
            return fact.now is not None and fact.now.implied
        case FindingSet():
            return fact.was is not None and fact.was.recorded.phrase != phrase
        case QuerySet():
            return fact.was is not None and fact.was.phrase != phrase
        case _:
            return isinstance(fact, TakenBack)


def _in_rows(visit: Visit, query: Query, exam: Exam, effect: Effect) -> SetTo | None:
    mine = standing_of(visit, query.phrase)
    match effect:
        case Keep():
            kept = [(r.number, r.finding) for r in mine if r.state is FindingState.QUERIED]
            found = SetTo(tuple(kept))
        case Drop():
            found = SetTo((), tuple(r.number for r in mine))
        case Instead():
            instead = _instead(mine, effect.said)
            # Where the phrase closed the animal before, what was meant may belong to her.
            left = any(isinstance(f, ExamClosed) and f.now for f in _facts_of(visit, query))
            if instead is None or left:
                return None
            found = instead
        case SetTo():
            found = effect
        case TakeBack() | JoinBack():
            return None
    places = {r.number: place for place, r in enumerate(exam.recorded, start=1)}
    if not {*(n for n, _ in found.changes), *found.withdraw} <= set(places):
        return None
    changes = tuple((places[number], finding) for number, finding in found.changes)
    return SetTo(changes, tuple(places[number] for number in found.withdraw))


def _instead(mine: tuple[RecordedFinding, ...], said: tuple[Said, ...]) -> SetTo | None:
    """Other findings in the place of those recorded, as long as there are not more of them."""
    whats = [each.what for each in said]
    if len(whats) > len(mine) or any(isinstance(r.finding, Animal) for r in mine):
        return None
    changes = []
    for recorded, what in zip(mine, whats, strict=False):
        if isinstance(what, Command | Animal):
            return None
        changes.append((recorded.number, what))
    return SetTo(tuple(changes), tuple(r.number for r in mine[len(whats) :]))


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
        self._effects: dict[str, SetTo] = {}
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
        effect = self._effects.setdefault(choice, SetTo(()))
        if then == AS_IT_IS:
            return
        place = whole(row["row"], "row")
        if not 1 <= place <= last_row:
            raise CellError("row", f"{place} is no row of this exam in findings.csv")
        if then == WITHDRAWN:
            effect = replace(effect, withdraw=(*effect.withdraw, place))
        elif then == RECORDED:
            effect = replace(effect, changes=(*effect.changes, (place, read_finding(row))))
        else:
            raise CellError("then", f"'{then}' is none of {RECORDED}, {WITHDRAWN}, {AS_IT_IS}")
        self._effects[choice] = effect

    def asked(self) -> Asked:
        """The question; without choices where not all of them are told."""
        if self._untold:
            return Asked(self._question, self._why)
        choices = (Alternative(words, self._effects[n]) for n, words in self._words.items())
        return Asked(self._question, self._why, tuple(choices), self._effects.get(NO))
