"""One animal over all visits: what was found, its sizes and ages, and what changed since last time.

In: visits that were read. Nothing is judged here: what was recorded stands side by side.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from itertools import pairwise

from dictation.records.ahead import settled
from dictation.records.exam_rows import status_of
from dictation.records.pictures.drawing import GREY, Picture, Scale, line, steps, svg, text
from dictation.visit.state import Visit
from grammar.exam import Exam
from grammar.fields import numbers_of, with_value
from grammar.findings import Animal, Finding
from grammar.summary import summarise_age
from grammar.wording import number, written


@dataclass(frozen=True, slots=True)
class Seen:
    """An animal at one visit. ``signed``: who approved her there, or 'draft'.

    ``numbers``: what was measured or said in numbers, by what it is; ``came``, ``went``: findings
    that the visit before had not, and that this one has not any more.
    """

    on: date
    farm: str
    exam: Exam
    signed: str
    status: str
    age_days: float | None
    due: date | None
    words: tuple[str, ...]
    numbers: tuple[tuple[str, float], ...]
    came: tuple[str, ...] = ()
    went: tuple[str, ...] = ()


def is_hers(exam: Exam, tag: str) -> bool:
    """Whether an exam is of the animal of that tag or electronic number."""
    said = (f.electronic_id for f in exam.findings if isinstance(f, Animal))
    known = None if exam.known is None else exam.known.electronic_id
    return tag in (exam.tag, known, *said)


def animal_history(visits: Iterable[Visit], tag: str) -> tuple[Seen, ...]:
    """Every exam of an animal, the earliest first, each against the one before."""
    found = [
        _seen(visit, exam)
        for visit in sorted(visits, key=lambda v: v.on_date or date.min)
        for exam in visit.exams
        if is_hers(exam, tag)
    ]
    return tuple(_against(found[at - 1] if at else None, now) for at, now in enumerate(found))


def _seen(visit: Visit, exam: Exam) -> Seen:
    findings = [f for f in settled(exam).findings if not isinstance(f, Animal)]
    age = summarise_age(exam)
    numbers = {name: value for finding in findings for name, value in _numbers(finding)}
    return Seen(
        on=exam.on_date,
        farm=visit.farm or "",
        exam=exam,
        signed="draft" if exam.approved is None else f"approved by {exam.approved.who}",
        status=status_of(settled(exam)) or "not said",
        age_days=age.age_days,
        due=age.due_date,
        words=tuple(written(f) for f in findings),
        numbers=tuple(numbers.items()),
    )


def _numbers(finding: Finding) -> Iterator[tuple[str, float]]:
    """'right ovary corpus luteum, mm' and 24 of what was found: by the words without the number."""
    for row, value in numbers_of(finding):
        bare = written(with_value(finding, row.name, 0) or finding)
        yield f"{' '.join(bare.replace(f'0 {row.unit}', '').split())}, {row.unit}", value
        return


def _against(before: Seen | None, now: Seen) -> Seen:
    if before is None:
        return now
    came = tuple(words for words in now.words if words not in before.words)
    went = tuple(words for words in before.words if words not in now.words)
    return replace(now, came=came, went=went)


def plots(seen: Sequence[Seen]) -> tuple[Picture, ...]:
    """A small plot of each number that was taken at two visits or more."""
    names = dict.fromkeys(name for each in seen for name, _ in each.numbers)
    series = {
        name: [(each.on, value) for each in seen for n, value in each.numbers if n == name]
        for name in names
    }
    ages = [(each.on, each.age_days) for each in seen if each.age_days is not None]
    every = {"age of the pregnancy, days": ages, **series}
    return tuple(_plot(name, points) for name, points in every.items() if len(points) > 1)


_WIDE_MM, _HIGH_MM, _LETTER_MM = 110.0, 34.0, 3.2


def _plot(name: str, points: Sequence[tuple[date, float]]) -> Picture:
    first, last = points[0][0].toordinal(), points[-1][0].toordinal()
    across = Scale(first, max(last, first + 1), 14, _WIDE_MM - 14)
    up = Scale(0, max(value for _, value in points) * 1.1 or 1, _HIGH_MM - 7, 4)
    parts = [line(12, y := up.at(mark), _WIDE_MM - 8, y, GREY) for mark in steps(0, up.last, 3)]
    parts += [text(10, up.at(mark) + 1, str(mark), anchor="end") for mark in steps(0, up.last, 3)]
    placed = [(across.at(on.toordinal()), up.at(value)) for on, value in points]
    parts += [line(*one, *other) for one, other in pairwise(placed)]
    for (x, y), (on, value) in zip(placed, points, strict=True):
        parts.append(f'<circle cx="{x:.1f}" cy="{y:.1f}" r="0.9"/>')
        parts.append(text(x, y - 1.8, number(value)))
        parts.append(text(x, _HIGH_MM - 1.5, on.isoformat()))
    return Picture("over-visits", name, svg(name, _WIDE_MM, _HIGH_MM, _LETTER_MM, parts))


@dataclass(frozen=True, slots=True)
class Hit:
    """Where words were found: in what was heard, or in a finding."""

    on: date
    farm: str
    exam: int
    tag: str
    words: str


def search(visits: Iterable[Visit], wanted: str) -> Iterator[Hit]:
    """Tags, findings and phrases in which every word that is wanted stands."""
    words = wanted.lower().split()

    def fits(told: str) -> bool:
        return all(word in told.lower() for word in words)

    for visit in sorted(visits, key=lambda v: v.on_date or date.min):
        heard: dict[int | None, list[str]] = {}
        for phrase in visit.phrases:
            heard.setdefault(phrase.exam, []).append(f"'{phrase.text}'")
        for exam in visit.exams:
            tag = exam.tag or ""
            every = [*(written(r.finding) for r in exam.standing), *heard.get(exam.number, ())]
            for told in dict.fromkeys(each for each in every if fits(f"{tag} {each}")):
                yield Hit(exam.on_date, visit.farm or "", exam.number, tag, told)
