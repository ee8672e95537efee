"""What a person types: findings as spoken or in short forms, an animal, a tag."""

from __future__ import annotations

from datetime import date

from dictation.errors import WrongUseError
from dictation.visit.state import Visit
from grammar.exam import Exam
from grammar.findings import Command, CommandName, Said
from grammar.parse import parse
from grammar.short_forms import spelled_out
from grammar.wording import written

LONGEST_TAG = 15
"""Digits of a tag: those of an electronic number."""


def findings_typed(text: str, on: date | None) -> tuple[Said, ...]:
    """The findings of a typed phrase. Raises WrongUseError with where and why it cannot be read."""
    phrase = spelled_out(text)
    reading = parse(phrase, on)
    if reading.unread is not None:
        before = reading.normal[: reading.unread.at].strip()
        where = f" after '{before}'" if before else ""
        raise WrongUseError(f"Not read{where}: {reading.unread.sentence}")
    if reading.others:
        readings = " or ".join(f"'{words_of(said)}'" for said in (reading.said, *reading.others))
        raise WrongUseError(f"That can be read in two ways, {readings}: say which.")
    found = tuple(each for said in reading.said if (each := _finding(said)) is not None)
    if not found:
        raise WrongUseError("No finding was named: type what was seen, or a tag.")
    return found


def exam_named(visit: Visit, name: str) -> Exam:
    """The exam of a tag, or of its number as 'exam 3'. Raises WrongUseError."""
    number = name.lower().removeprefix("exam ").removeprefix("#")
    by_tag = [e for e in visit.exams if e.tag == name or (e.known and e.known.bears(name))]
    by_number = [e for e in visit.exams if number != name.lower() and str(e.number) == number]
    found = by_tag or by_number
    if len(found) == 1:
        return found[0]
    if found:
        exams = " or ".join(f"'exam {exam.number}'" for exam in found)
        raise WrongUseError(f"Tag {name} is there more than once: say {exams}.")
    raise WrongUseError(f"There is no animal '{name}': give its tag, or 'exam 3'.")


def tag_typed(text: str) -> str:
    """The digits of a tag. Raises WrongUseError for anything else."""
    if not (text.isascii() and text.isdigit()) or len(text) > LONGEST_TAG:
        raise WrongUseError(f"'{text}' is no tag: give its digits.")
    return text


def _finding(said: Said) -> Said | None:
    what = said.what
    if not isinstance(what, Command):
        return said
    if what.name is CommandName.NEXT_ANIMAL:
        return None if what.animal is None else Said(what.animal, said.start, said.end, said.words)
    raise WrongUseError(
        f"'{said.words}' is a spoken command, not a finding: use the keys of this page for it."
    )


def words_of(said: tuple[Said, ...]) -> str:
    """The findings of a phrase as they are written."""
    return ", ".join(written(s.what) for s in said if not isinstance(s.what, Command))
