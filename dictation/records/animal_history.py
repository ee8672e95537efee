"""One animal over all visits: what was found, its sizes and ages, and what changed since last time.

In: visits that were read. Nothing is judged here: what was recorded stands side by side.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import date
from itertools import pairwise

from dictation.decide.people.signing import signed
from dictation.records.ahead import settled
from dictation.records.exam_rows import status_of
from dictation.records.pictures.drawing import GREY, Picture, Scale, line, steps, svg, text
from dictation.records.plain_page import PlainTable
from dictation.visit.state import Visit
from grammar.exam import Exam
from grammar.fields import numbers_of, with_value
from grammar.findings import Animal
from grammar.summary import summarise_age
from grammar.wording import number, written

Seen = tuple[Visit, Exam]
_COLUMNS = ("visit", "farm", "status", "days", "due", "found, new", "no longer", "signed")
_WIDE_MM, _HIGH_MM, _LETTER_MM = 110.0, 34.0, 3.2


def exams_of(visits: Iterable[Visit], tag: str) -> tuple[Seen, ...]:
    """Every exam of the animal of that tag or electronic number, the earliest first."""
    in_order = sorted(visits, key=lambda visit: visit.on_date or date.min)
    return tuple((v, exam) for v in in_order for exam in v.exams if _is_hers(exam, tag))


def _is_hers(exam: Exam, tag: str) -> bool:
    said = (f.electronic_id for f in exam.findings if isinstance(f, Animal))
    known = exam.known
    return tag in {exam.tag, *said} or (known is not None and known.bears(tag))


def over_visits(seen: Sequence[Seen]) -> tuple[PlainTable, ...]:
    """A row a visit, with what came and went since the one before; then the numbers alone."""
    rows = []
    before: tuple[str, ...] = ()
    for visit, exam in seen:
        words = tuple(written(f) for f in settled(exam).findings if not isinstance(f, Animal))
        age = summarise_age(exam)
        days = "" if age.age_days is None else f"{age.age_days:g}"
        came, went = ([w for w in a if w not in b] for a, b in ((words, before), (before, words)))
        head = (exam.on_date.isoformat(), visit.farm or "", status_of(settled(exam)) or "not said")
        due = "" if age.due_date is None else age.due_date.isoformat()
        by = signed(visit, exam.number) or "draft"
        rows.append((*head, days, due, ", ".join(came), ", ".join(went), by))
        before = words
    values = tuple(
        (
            name,
            *(
                "; ".join(number(v) for at, v in points if at == place)
                for place in range(len(seen))
            ),
        )
        for name, points in _series(seen).items()
    )
    measured = ("measured", *(exam.on_date.isoformat() for _, exam in seen))
    return PlainTable("", _COLUMNS, tuple(rows)), PlainTable("Numbers", measured, values)


def _series(seen: Sequence[Seen]) -> dict[str, list[tuple[int, float]]]:
    """What was said in numbers at which of the visits, by its words without them."""
    found: dict[str, list[tuple[int, float]]] = {}
    for place, (_, exam) in enumerate(seen):
        for finding in settled(exam).findings:
            for row, value in numbers_of(finding)[:1]:
                bare = written(with_value(finding, row.name, 0) or finding)
                words = " ".join(bare.replace(f"0 {row.unit}", "").split())
                name = ", ".join(filter(None, (words, row.unit)))
                found.setdefault(name, []).append((place, value))
    return found


def plots(seen: Sequence[Seen]) -> tuple[Picture, ...]:
    """A small plot of each number that was taken twice or more."""
    days = [exam.on_date for _, exam in seen]
    series = ((n, [(days[at], v) for at, v in points]) for n, points in _series(seen).items())
    return tuple(_plot(name, points) for name, points in series if len(points) > 1)


def _plot(name: str, points: Sequence[tuple[date, float]]) -> Picture:
    first, last = points[0][0].toordinal(), points[-1][0].toordinal()
    across = Scale(first, max(last, first + 1), 14, _WIDE_MM - 14)
    up = Scale(0, max(value for _, value in points) * 1.1 or 1, _HIGH_MM - 7, 4)
    parts = []
    for mark in steps(0, up.last, 3):
        parts.append(line(12, up.at(mark), _WIDE_MM - 8, up.at(mark), GREY))
        parts.append(text(10, up.at(mark) + 1, str(mark), anchor="end"))
    placed = [(across.at(on.toordinal()), up.at(value)) for on, value in points]
    parts += [line(*one, *other) for one, other in pairwise(placed)]
    for (x, y), (on, value) in zip(placed, points, strict=True):
        parts += [text(x, y - 1, number(value)), text(x, _HIGH_MM - 1.5, on.isoformat())]
    return Picture("over-visits", name, svg(name, _WIDE_MM, _HIGH_MM, _LETTER_MM, parts))


def search(visits: Iterable[Visit], wanted: str, tag: str | None) -> PlainTable:
    """Findings and phrases in which, with her tag, every word that is wanted stands."""
    words = wanted.lower().split()

    def hits() -> Iterator[tuple[str, ...]]:
        for visit in sorted(visits, key=lambda v: v.on_date or date.min):
            for exam in (e for e in visit.exams if tag is None or _is_hers(e, tag)):
                heard = (f"'{p.text}'" for p in visit.phrases if p.exam == exam.number)
                for told in (*(written(r.finding) for r in exam.standing), *heard):
                    name = exam.tag or f"exam {exam.number}"
                    if all(word in f"{name} {told}".lower() for word in words):
                        yield exam.on_date.isoformat(), visit.farm or "", name, told

    return PlainTable("", ("visit", "farm", "tag", "words"), tuple(hits()))
