"""A visit out of a file becomes a journal of its own: all of it, or nothing."""

from __future__ import annotations

import shutil
from collections.abc import Iterator, Mapping
from pathlib import Path
from types import MappingProxyType

from dictation.decide.record import Record
from dictation.errors import MissingError, WrongUseError
from dictation.visit.facts import HerdListed, VisitOpened
from dictation.visit.inputs import Asked, By, ExamTaken, Input, Noted, VisitClosed
from dictation.visit.journal import Journal, holds_visit
from grammar.exam import Exam


def take_in(  # noqa: PLR0913, PLR0917 - what a visit is made of
    folder: Path,
    exams: tuple[Exam, ...],
    opened: VisitOpened,
    herd: HerdListed | None,
    source: str,
    asked: Mapping[int, tuple[Asked, ...]] = MappingProxyType({}),
) -> None:
    """Write a journal for these exams into a new folder.

    ``exams``, ``asked``: findings are numbered from 1 in each exam, and so do the answers name
    them. Raises WrongUseError where the folder holds a visit already, MissingError where it cannot
    be written. What is written under another name is moved into place at the end, in one step.
    """
    if holds_visit(folder) or (folder.is_dir() and any(folder.iterdir())):
        raise WrongUseError(f"{folder} is not empty: give a new folder with --out.")
    partial = folder.with_name(f".{folder.name}.part")
    shutil.rmtree(partial, ignore_errors=True)
    by = By(why=f"taken in from {source}")
    try:
        with Record(Journal.write(partial)) as record:
            for given in _inputs(exams, opened, herd, source, asked):
                record.take(given, by)
        if folder.is_dir():
            folder.rmdir()
        partial.rename(folder)
    except OSError as error:
        raise MissingError(
            f"{folder} cannot be written ({error.strerror}): give another folder with --out."
        ) from error
    finally:
        shutil.rmtree(partial, ignore_errors=True)


def _inputs(
    exams: tuple[Exam, ...],
    opened: VisitOpened,
    herd: HerdListed | None,
    source: str,
    asked: Mapping[int, tuple[Asked, ...]],
) -> Iterator[Input]:
    yield Noted(opened)
    if herd is not None:
        yield Noted(herd)
    for exam in exams:
        yield ExamTaken(
            exam=exam.number,
            tag=exam.tag,
            started_at=exam.started_at,
            recorded=exam.recorded,
            questions=exam.open_queries,
            source=source,
            asked=asked.get(exam.number, ()),
        )
    yield VisitClosed()
