"""Two laptops' halves of one visit made into one: each exam with whose it is, doubts asked.

An animal that is in both keeps both exams, and is asked about: which of them she was, or that they
are one. What the halves say differently of her then stands in one exam, where the checks ask.
"""

from __future__ import annotations

import hashlib
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from dictation.errors import WrongUseError
from dictation.intake.from_files import take_in
from dictation.intake.reading import read_visit
from dictation.records.questions_file import asked_of
from dictation.visit.facts import HerdListed, VisitOpened
from dictation.visit.herd_numbers import HerdNumbers
from dictation.visit.inputs import Asked
from dictation.visit.parts import Alternative, JoinBack, Keep
from dictation.visit.state import Visit
from grammar.exam import Exam, KnownAnimal, RecordedFinding
from grammar.findings import Animal, Finding
from grammar.wording import written


@dataclass(frozen=True, slots=True)
class Merged:
    """How many ``exams`` came, the tags in ``both`` halves, and what else is to be told."""

    exams: int
    both: tuple[str, ...]
    told: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Part:
    """An exam of a half, renumbered for the whole, and whose half it is."""

    whose: str
    exam: Exam
    asked: tuple[Asked, ...]


def merge(folders: Sequence[Path], out: Path) -> Merged:
    """Write the whole visit into a new folder.

    Raises WrongUseError where the halves are of different days or farms, or ``out`` is not empty.
    """
    names = _names(folders)
    visits = [read_visit(folder)[0] for folder in folders]
    on = _the_same("day", folders, [visit.on_date for visit in visits])
    assert isinstance(on, date)
    farm = _the_same("farm", folders, [visit.farm for visit in visits if visit.farm])
    parts = [
        _part(whose, visit, exam)
        for whose, visit in zip(names, visits, strict=True)
        for exam in visit.exams
    ]
    # Those without a time of day stay behind the others, in the order of their halves.
    parts.sort(key=lambda part: part.exam.started_at or "~")
    herd, differing = _herd(visits)
    numbers = HerdNumbers(() if herd is None else herd.animals)
    parts = [_numbered(part, number, numbers) for number, part in enumerate(parts, start=1)]
    both, asked = _asked(parts)
    told = [f"The herd lists differ on {tag}: the first one's is kept." for tag in differing]
    approved = [exam for visit in visits for exam in visit.exams if exam.approved is not None]
    told += ["Approvals are not carried over: approve again what you stand for."] * bool(approved)
    lost = [q.question for visit in visits for q in visit.open_queries if q.exam is None]
    told += [f"Left out, asked between two animals: {question}" for question in lost]
    take_in(
        out,
        tuple(part.exam for part in parts),
        VisitOpened(on, str(farm) if farm else None),
        herd,
        " and ".join(names),
        asked,
        {part.exam.number: part.whose for part in parts},
    )
    return Merged(len(parts), both, tuple(told))


def _names(folders: Sequence[Path]) -> list[str]:
    names = [folder.resolve().name for folder in folders]
    return names if len(set(names)) == len(names) else [str(folder) for folder in folders]


def _the_same(what: str, folders: Sequence[Path], said: Sequence[object]) -> object:
    different = dict.fromkeys(said)
    if len(different) > 1:
        both = " and ".join(map(str, different))
        named = " and ".join(map(str, folders))
        raise WrongUseError(f"{named} are not of one {what} ({both}): merge halves of one visit.")
    return next(iter(different), None)


def _part(whose: str, visit: Visit, exam: Exam) -> _Part:
    asked = tuple(
        asked_of(visit, query) or Asked(query.question, query.why)
        for query in visit.open_of(exam.number)
    )
    recorded = (replace(r, number=n, phrase=None) for n, r in enumerate(exam.recorded, start=1))
    return _Part(whose, replace(exam, recorded=tuple(recorded)), asked)


def _numbered(part: _Part, number: int, numbers: HerdNumbers) -> _Part:
    """The exam by its number in the whole, and her by the name that either list has for her."""
    meant = () if part.exam.tag is None else numbers.named(part.exam.tag)
    tag = meant[0].tag if len(meant) == 1 else part.exam.tag
    return replace(part, exam=replace(part.exam, number=number, tag=tag))


def _asked(parts: list[_Part]) -> tuple[tuple[str, ...], dict[int, tuple[Asked, ...]]]:
    """The tags in more than one half, and the questions of each exam with those about them."""
    asked = {part.exam.number: part.asked for part in parts}
    by_animal: dict[str, list[_Part]] = defaultdict(list)
    for part in parts:
        if part.exam.tag is not None:
            by_animal[part.exam.tag].append(part)
    both = []
    for tag, mine in by_animal.items():
        first, *others = mine
        for other in (part for part in others if part.whose != first.whose):
            both.append(tag)
            into, number = first.exam.number, other.exam.number
            joined = Alternative("one exam of her", JoinBack(number, into))
            question = (
                f"Tag {tag} is in both halves. {_differ(first, other)} Is it one exam of her?"
            )
            why = f"exam {into} is of {first.whose}, exam {number} of {other.whose}"
            asked[number] = (*asked[number], Asked(question, why, (joined,), Keep()))
    return tuple(dict.fromkeys(both)), asked


def _differ(first: _Part, other: _Part) -> str:
    """What each says that the other does not."""
    one, two = _said(first.exam.standing), _said(other.exam.standing)
    told = []
    for part, mine, theirs in ((first, one, two), (other, two, one)):
        words = "; ".join(written(f) for f in mine if f not in theirs)
        told.append(f"{part.whose}: {words or 'nothing else'}.")
    return " ".join(told)


def _said(recorded: tuple[RecordedFinding, ...]) -> list[Finding]:
    return [r.finding for r in recorded if not isinstance(r.finding, Animal)]


def _herd(visits: Sequence[Visit]) -> tuple[HerdListed | None, tuple[str, ...]]:
    """The lists together, and the tags of which they say different things."""
    lists = {v.herd_list.digest: v.herd_list for v in visits if v.herd_list is not None}
    if not lists:
        return None, ()
    animals: dict[str, KnownAnimal] = {}
    differing = []
    for each in (animal for herd in lists.values() for animal in herd.animals):
        if animals.setdefault(each.tag, each) != each:
            differing.append(each.tag)
    whole = "".join(lists)
    digest = whole if len(lists) == 1 else hashlib.sha256(whole.encode()).hexdigest()
    source = " and ".join(dict.fromkeys(herd.source for herd in lists.values()))
    return HerdListed(digest, source, tuple(animals.values())), tuple(differing)
