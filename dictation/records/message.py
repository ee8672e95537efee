"""The farm's text message: what was found and what is to be done today, in forty words at most."""

from __future__ import annotations

from collections import Counter
from datetime import date
from pathlib import Path

from dictation.decide.people.signing import standing
from dictation.decide.record import Flags
from dictation.disk import replace_file
from dictation.records.farm_list.page import kind_of_result
from dictation.records.farm_list.part import BIG_DIGITS, by_tag, day, doubt_of, tag_of
from dictation.records.farm_list.to_do import NO_DAY_OUT, tasks_of
from dictation.visit.state import Visit
from grammar.exam import LONG_FROM, Exam, digits_of

TEXT_NAME = "message.txt"
MOST_WORDS = 40


def message(visit: Visit, flags: Flags) -> tuple[str, str]:
    """The message, and what of the visit is not in it for want of room; empty where all is."""
    kinds = Counter(kind_of_result(exam) for exam in visit.exams)
    found = ", ".join(f"{count} {kind}" for kind, count in kinds.items())
    farm = f"{visit.farm} " if visit.farm else ""
    on = "" if visit.on_date is None else f" {day(visit.on_date).rsplit(' ', 1)[0]}"
    head = f"{farm.strip()}{on}: {len(visit.exams)} scanned, {found}."
    doubtful = [e for e in visit.exams if doubt_of(visit, e, flags)]
    parts = [("DO NOT ACT yet on", doubtful)] if doubtful else []
    parts += _tasks([e for e in visit.exams if e not in doubtful])
    state = f"{standing(visit, flags).split(',', maxsplit=1)[0].capitalize()}."
    kept, left = [head.strip()], []
    for what, mine in parts:
        whole, short = f"{what}: {_tags(mine)}.", f"{what}: {len(mine)} cows."
        if _fits(*kept, whole, state):
            kept.append(whole)
            continue
        left.append(whole)
        if _fits(*kept, short, state):
            kept.append(short)
    return " ".join((*kept, state)), " ".join(left)


def _fits(*parts: str) -> bool:
    return len(" ".join(parts).split()) <= MOST_WORDS


def write_message(folder: Path, words: str) -> Path:
    """Write the message into a folder; its path. Raises MissingError."""
    path = folder / TEXT_NAME
    replace_file(path, f"{words}\n".encode())
    return path


def _tasks(exams: list[Exam]) -> list[tuple[str, list[Exam]]]:
    """What is to be done, by day, those with the same before them together; one part each."""
    due: dict[tuple[date | None, str], list[Exam]] = {}
    for exam in exams:
        for on, what in tasks_of(exam):
            later = on if on is not None and on > exam.on_date else None
            due.setdefault((later, what.removesuffix(f"; {NO_DAY_OUT}")), []).append(exam)
    told = []
    for later, what in sorted(due, key=lambda key: (key[0] or date.min, key[1])):
        when = "" if later is None else f" {day(later).rsplit(' ', 1)[0]}"
        told.append((f"{what.capitalize()}{when}", due[later, what]))
    return told


def _tags(exams: list[Exam]) -> str:
    return " ".join(_tag(exam) for exam in sorted(exams, key=by_tag))


def _tag(exam: Exam) -> str:
    tag = tag_of(exam)
    return tag[-BIG_DIGITS:] if exam.tag and len(digits_of(tag)) >= LONG_FROM else tag
