"""CSV files as visits: taken in, or as what an earlier journal beside them meant in its day."""

from __future__ import annotations

import json
import shutil
from collections.abc import Hashable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from types import MappingProxyType

from dictation.decide.record import Record
from dictation.errors import BadInputError, MissingError, WrongUseError, cannot_write
from dictation.records.csv_reading import ReadVisit, read_csv_visit
from dictation.records.visit_files import EXAMS_NAME, FINDINGS_NAME
from dictation.visit.facts import Fact, Happened, HerdListed, PhraseSet, VisitOpened
from dictation.visit.inputs import Asked, By, ExamTaken, Input, Noted, VisitClosed
from dictation.visit.journal import Journal, holds_visit
from dictation.visit.parts import Instead, Phrase
from dictation.visit.state import Act, Visit
from grammar.exam import Exam, RecordedFinding
from grammar.findings import Animal
from grammar.normalise import normalise

LINES_NAME = "exam_lines.jsonl"
"""Its first line says up to which event the files beside it were written."""

SAME_TIME_S = 0.006
"""Times in the files are rounded to hundredths of a second."""


def take_in(  # noqa: PLR0913, PLR0917 - what a visit is made of
    folder: Path,
    exams: tuple[Exam, ...],
    opened: VisitOpened,
    herd: HerdListed | None,
    source: str,
    asked: Mapping[int, tuple[Asked, ...]] = MappingProxyType({}),
    whose: Mapping[int, str] = MappingProxyType({}),
) -> None:
    """Write a journal for these exams into a new folder. ``whose``: who gave an exam, by number.

    ``exams``, ``asked``: findings are numbered from 1 in each exam, and so do the answers name
    them. Raises WrongUseError where the folder holds a visit already, MissingError where it cannot
    be written. What is written under another name is moved into place at the end, in one step.
    """
    if holds_visit(folder) or (folder.is_dir() and any(folder.iterdir())):
        raise WrongUseError(f"{folder} is not empty: give a new folder with --out.")
    partial = folder.with_name(f".{folder.name}.part")
    shutil.rmtree(partial, ignore_errors=True)
    why = f"taken in from {source}"
    given: list[tuple[Input, str]] = [(Noted(fact), "") for fact in (opened, herd) if fact]
    given += [(exam_taken(e, source, asked), whose.get(e.number, "")) for e in exams]
    try:
        with Record(Journal.write(partial)) as record:
            for each, who in (*given, (VisitClosed(), "")):
                record.take(each, By(who, why))
        if folder.is_dir():
            folder.rmdir()
        partial.rename(folder)
    except OSError as error:
        raise cannot_write(folder, error.strerror) from error
    except MissingError as error:
        raise MissingError(
            f"Nothing was taken in: {partial.parent} is full or cannot be written. Make room and"
            " run the same command again."
        ) from error
    finally:
        shutil.rmtree(partial, ignore_errors=True)


def exam_taken(exam: Exam, source: str, asked: Mapping[int, tuple[Asked, ...]]) -> ExamTaken:
    """An exam out of a file. ``asked``: by exam, its questions with their answers."""
    return ExamTaken(
        exam=exam.number,
        tag=exam.tag,
        started_at=exam.started_at,
        recorded=exam.recorded,
        questions=exam.open_queries,
        source=source,
        asked=asked.get(exam.number, ()),
    )


@dataclass(frozen=True, slots=True)
class Files:
    """``last_seq``: the last event that the files tell of."""

    folder: Path
    last_seq: int


def beside(folder: Path, last_seq: int) -> Files | None:
    """The files beside a journal; None where there are none."""
    if not ((folder / EXAMS_NAME).is_file() and (folder / FINDINGS_NAME).is_file()):
        return None
    try:
        head = (folder / LINES_NAME).read_text(encoding="utf-8").split("\n", 1)[0]
        told = int(json.loads(head)["last_seq"])
    except (OSError, ValueError, KeyError, TypeError):
        told = last_seq
    return Files(folder, min(told, last_seq))


def differ(visit: Visit, files: Files) -> bool:
    """Whether today's rules decide otherwise than the files say. Raises BadInputError."""
    read = _read(visit, files)
    now = [_seen(exam) for exam in visit.exams]
    return now != [_seen(exam) for exam in read.exams]


def reworded(visit: Visit, files: Files) -> tuple[tuple[str, str], ...]:
    """Open questions that stand in the files in other words: id, and those words."""
    found: list[tuple[str, str]] = []
    for exam, then in zip(visit.exams, _read(visit, files).exams, strict=True):
        waiting = visit.open_of(exam.number)
        if len(waiting) == len(then.open_queries):
            pairs = zip(waiting, then.open_queries, strict=True)
            found += [(q.id, words) for q, words in pairs if q.question != words]
    return tuple(found)


@dataclass(frozen=True, slots=True)
class Taken:
    """Exams out of the files, and to which of them each phrase belongs."""

    exams: tuple[ExamTaken, ...]
    exam_of: dict[int, int]

    def kept_of(self, act: Act) -> tuple[Fact, ...]:
        """Of an entry's facts those that the files do not tell otherwise."""
        kept: list[Fact] = []
        for fact in act.facts:
            if isinstance(fact, Happened):
                kept.append(fact)
            elif isinstance(fact, PhraseSet) and fact.now is not None and fact.was is None:
                exam = self.exam_of.get(fact.number)
                kept.append(replace(fact, now=replace(fact.now, exam=exam)))
        return tuple(kept)


def from_files(visit: Visit, files: Files) -> Taken:
    """The exams of the files, each finding with the phrase that carried it, as far as it is plain.

    ``visit``: as today's rules have it, for its phrases. Raises BadInputError.
    """
    read = _read(visit, files)
    phrases = visit.phrases
    cursor = 0
    exams: list[ExamTaken] = []
    exam_of: dict[int, int] = {}
    for exam in read.exams:
        recorded: list[RecordedFinding] = []
        for place, one in enumerate(exam.recorded, start=1):
            number = _phrase_of(one, phrases, cursor)
            if number is not None:
                exam_of.setdefault(number, exam.number)
                cursor = max(cursor, number) if one.at_s is None else cursor
            recorded.append(replace(one, number=place, phrase=number))
        told = replace(exam, recorded=tuple(recorded))
        asked = {n: tuple(_as_decided(a, visit) for a in all_) for n, all_ in read.asked.items()}
        exams.append(exam_taken(told, "the CSV files of its day", asked))
    last: int | None = None
    for phrase in phrases:
        last = (
            exam_of.setdefault(phrase.number, last)
            if last is not None
            else exam_of.get(phrase.number)
        )
    return Taken(tuple(exams), exam_of)


def _as_decided(asked: Asked, visit: Visit) -> Asked:
    """What an answer does that no row can tell: as today's rules have it of the same question."""
    if asked.alternatives or asked.no is not None:
        return asked
    same = (q for q in visit.queries if (q.question, q.why) == (asked.question, asked.why))
    offered = next((q.alternatives for q in same), ())
    told = all(isinstance(each.effect, Instead) for each in offered)
    return replace(asked, alternatives=offered if told else ())


def _phrase_of(recorded: RecordedFinding, phrases: tuple[Phrase, ...], cursor: int) -> int | None:
    if recorded.at_s is not None:
        at_s = recorded.at_s
        near = (p for p in phrases if p.at_s is not None and abs(p.at_s - at_s) < SAME_TIME_S)
        return next((p.number for p in near), None)
    words = normalise(recorded.heard.split("; ")[0])
    typed = (p for p in phrases if p.at_s is None and p.number >= cursor)
    return next((p.number for p in typed if words and words in normalise(p.text)), None)


def _read(visit: Visit, files: Files) -> ReadVisit:
    try:
        return read_csv_visit(files.folder, visit.on_date, visit.herd)
    except BadInputError as error:
        raise BadInputError(
            f"{error} The journal beside it is of an earlier version and is read with its files:"
            " put them as they were, or take all of them away."
        ) from error


def _seen(exam: Exam) -> Hashable:
    """What the files tell of an exam: its tag, its findings and how many questions are open."""
    findings = tuple((_plain(r), str(r.state), r.heard) for r in exam.recorded)
    return exam.number, exam.tag, findings, len(exam.open_queries)


def _plain(recorded: RecordedFinding) -> Hashable:
    what = recorded.finding
    # Whether only a number was said is not in the files; it changes nothing once it is a tag.
    return replace(what, tag_alone=False) if isinstance(what, Animal) else what
