"""A visit out of a file becomes a journal of its own: all of it, or nothing."""

from __future__ import annotations

import shutil
from collections.abc import Iterator, Mapping
from dataclasses import replace
from datetime import date
from pathlib import Path
from types import MappingProxyType

from dictation.errors import MissingError, WrongUseError
from dictation.session.effects import Effect, SetTo
from dictation.session.events import (
    FINDINGS_AN_UTTERANCE,
    Event,
    HerdListed,
    VisitClosed,
    VisitOpened,
)
from dictation.session.journal import Journal, holds_visit
from dictation.session.session import grammar_version
from dictation.session.taken_over import Asked, ExamTaken
from grammar.exam import Exam, RecordedFinding


def take_in(  # noqa: PLR0913, PLR0917 - what a visit is made of
    folder: Path,
    exams: tuple[Exam, ...],
    opened: VisitOpened,
    herd: HerdListed | None,
    source: str,
    asked: Mapping[int, tuple[Asked, ...]] = MappingProxyType({}),
) -> None:
    """Write a journal for these exams into a new folder.

    ``asked``: by exam, its questions, whose answers name findings by their place in it, from 1.
    Raises WrongUseError where the folder holds a visit already, MissingError where it cannot be
    written. What is written under another name is moved into place at the end, in one step.
    """
    if holds_visit(folder) or (folder.is_dir() and any(folder.iterdir())):
        raise WrongUseError(f"{folder} is not empty: give a new folder with --out.")
    partial = folder.with_name(f".{folder.name}.part")
    shutil.rmtree(partial, ignore_errors=True)
    try:
        with Journal.write(partial) as journal:
            for event in _events(exams, opened, herd, source, asked):
                journal.append(event)
        if folder.is_dir():
            folder.rmdir()
        partial.rename(folder)
    except OSError as error:
        raise MissingError(
            f"{folder} cannot be written ({error.strerror}): give another folder with --out."
        ) from error
    finally:
        shutil.rmtree(partial, ignore_errors=True)


def opened_on(on: date, farm: str | None) -> VisitOpened:
    """The first event of a journal, of today's grammar."""
    return VisitOpened(on, farm, None, grammar_version())


def _events(
    exams: tuple[Exam, ...],
    opened: VisitOpened,
    herd: HerdListed | None,
    source: str,
    asked: Mapping[int, tuple[Asked, ...]],
) -> Iterator[Event]:
    yield opened
    if herd is not None:
        yield herd
    utterance = 0
    for exam in exams:
        recorded, utterance = _numbered(exam.recorded, utterance)
        # A question has an utterance of its own, behind those of the findings.
        utterance += 1
        yield ExamTaken(
            number=exam.number,
            tag=exam.tag,
            started_at=exam.started_at,
            recorded=recorded,
            questions=exam.open_queries,
            seen=utterance,
            source=source,
            asked=tuple(_with_numbers(each, recorded) for each in asked.get(exam.number, ())),
        )
    yield VisitClosed(f"taken in from {source}")


def _with_numbers(asked: Asked, recorded: tuple[RecordedFinding, ...]) -> Asked:
    """The question with findings named by their numbers instead of their places."""

    def numbered(effect: Effect) -> Effect:
        assert isinstance(effect, SetTo)
        changes = tuple((recorded[place - 1].number, what) for place, what in effect.changes)
        return SetTo(changes, tuple(recorded[place - 1].number for place in effect.withdraw))

    return replace(
        asked,
        alternatives=tuple(replace(a, effect=numbered(a.effect)) for a in asked.alternatives),
        no=None if asked.no is None else numbered(asked.no),
    )


def _numbered(
    recorded: tuple[RecordedFinding, ...], utterance: int
) -> tuple[tuple[RecordedFinding, ...], int]:
    """Findings said in one breath get the numbers of one utterance."""
    numbered: list[RecordedFinding] = []
    place, breath = 0, None
    for each in recorded:
        same = (each.heard, each.at_s, each.until_s)
        if same != breath or place == FINDINGS_AN_UTTERANCE - 1:
            utterance, place, breath = utterance + 1, 0, same
        place += 1
        numbered.append(replace(each, number=utterance * FINDINGS_AN_UTTERANCE + place))
    return tuple(numbered), utterance
