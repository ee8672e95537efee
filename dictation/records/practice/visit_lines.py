"""The lines of one visit, kept beside its journal, so that many visits are summed up at once.

They are written whenever the visit's CSV files are, and by a summary that found none; they may be
deleted at any time. The first line of the file says which events and which reckoning they stand
for, and has a digest of all of it. Where any of it does not match the journal as it is now, the
file is passed over as if it were not there.
"""

from __future__ import annotations

import hashlib
import json
from contextlib import suppress
from dataclasses import asdict, astuple, dataclass, fields
from datetime import date
from functools import cache
from pathlib import Path

import dictation
import grammar
from dictation.disk import bring_up_to_date
from dictation.errors import HornsweepError
from dictation.records.ahead import doubtful_identity, is_queried, result_of, settled
from dictation.records.exam_rows import by_exam
from dictation.visit.journal_state import JournalState
from dictation.visit.state import Visit
from grammar.dating.calving import SEEN_FROM_COW
from grammar.exam import Exam, Service
from grammar.facts import ExamFacts, facts_of
from grammar.findings import PregnancyStatus

LINES_NAME = "exam_lines.jsonl"


@dataclass(frozen=True, slots=True)
class VisitLines:
    """``body``: a JSON array of ``COLUMNS`` an exam, one a line. ``farm``: None where the visit
    names none."""

    farm: str | None
    exams: int
    body: bytes


def visit_lines(visit: Visit) -> VisitLines:
    """The lines of a visit."""
    asked = frozenset(query.exam for query in visit.all_queries.values())
    lines = [_line(exam, exam.number in asked) for exam in visit.exams]
    return VisitLines(visit.farm, len(lines), b"".join(lines))


def keep_lines(folder: Path, visit: Visit) -> VisitLines:
    """Write the lines of a visit into its folder; where that fails, it is folded when needed."""
    lines = visit_lines(visit)
    with suppress(HornsweepError, OSError):
        last = visit.acts[visit.last_seq]
        state = JournalState(visit.acts[1].at, last.at, last.seq)
        bring_up_to_date(folder / LINES_NAME, _head(state, lines) + lines.body)
    return lines


def kept_lines(folder: Path, state: JournalState) -> VisitLines | None:
    """What was kept for a journal in this state; None where it is of another, or damaged."""
    try:
        head, body = (folder / LINES_NAME).read_bytes().split(b"\n", 1)
        told = json.loads(head)
        lines = VisitLines(told["farm"], told["exams"], body)
    except (OSError, ValueError, KeyError, TypeError):
        return None
    return lines if head + b"\n" == _head(state, lines) else None


def _head(state: JournalState, lines: VisitLines) -> bytes:
    told = {
        **asdict(state),
        "reckoning": reckoning(),
        "farm": lines.farm,
        "exams": lines.exams,
        "columns": COLUMNS,
    }
    digest = hashlib.sha256(json.dumps(told).encode() + b"\n" + lines.body).hexdigest()
    return json.dumps({**told, "digest": digest}).encode() + b"\n"


@by_exam
def _line(exam: Exam, asked: bool) -> bytes:
    return written(line_of(exam, asked))


def written(line: ExamLine) -> bytes:
    """One line of ``VisitLines.body``."""
    return json.dumps(astuple(line), default=date.isoformat).encode() + b"\n"


@dataclass(frozen=True, slots=True)
class ExamLine:
    """Plain values, one column each. ``status``: pregnant, open, uncertain, lost or None.

    ``service_on``: the service that the result is about; ``service_number``: which of her lactation
    that was, from 1. ``stated_days``, ``measured_days``: ages of one pregnancy side by side, with
    ``measured_error_days``. ``asked``: whether anything said of her was asked about; ``unsettled``:
    whether something still is. ``tag`` is None where it is not certain which animal it was.
    """

    on_date: date
    exam: int
    tag: str | None
    status: str | None
    service_on: date | None
    service_number: int | None
    sire: str | None
    inseminator: str | None
    age_days: float | None
    stated_days: float | None
    measured_days: float | None
    measured_error_days: float | None
    findings: int
    asked: bool
    unsettled: bool


COLUMNS = tuple(field.name for field in fields(ExamLine))


def line_of(exam: Exam, asked: bool) -> ExamLine:
    """The line of one exam."""
    facts = facts_of(settled(exam))
    status = result_of(exam, facts)
    number, service = _service(facts, status)
    ages = facts.ages
    measured = ages.measured.estimate
    pregnant = status == PregnancyStatus.PREGNANT
    best = ages.best if pregnant else None
    queried = is_queried(exam)
    return ExamLine(
        on_date=exam.on_date,
        exam=exam.number,
        tag=None if doubtful_identity(exam) is not None else exam.tag,
        status=status,
        service_on=None if service is None else service.first_day,
        service_number=number,
        sire=None if service is None else service.sire,
        inseminator=None if service is None else service.inseminator,
        age_days=None if best is None else best.days,
        stated_days=ages.stated.days if pregnant and ages.stated is not None else None,
        measured_days=measured.days if pregnant and measured is not None else None,
        measured_error_days=measured.error_days if pregnant and measured is not None else None,
        findings=len(exam.standing),
        asked=asked or queried,
        unsettled=queried or bool(exam.open_queries),
    )


def _service(facts: ExamFacts, status: str | None) -> tuple[int | None, Service | None]:
    """The service a result is about: of a pregnancy the one that fits, else the last old enough."""
    calved = None if facts.exam.known is None else facts.exam.known.calved_on
    of_this_lactation = (s for s in facts.services if calved is None or s.first_day > calved)
    mine = sorted(of_this_lactation, key=lambda s: s.first_day)
    if status == PregnancyStatus.PREGNANT:
        chosen = facts.ages.fit.chosen
        service = None if chosen is None else chosen.service
    elif status == PregnancyStatus.OPEN:
        # A younger pregnancy could not have been seen, so of a later service this says nothing.
        old = [s for s in mine if (facts.on - s.until(facts.on)).days >= SEEN_FROM_COW]
        service = old[-1] if old else None
    else:
        service = None
    if service is None:
        return None, None
    return (mine.index(service) + 1 if service in mine else None), service


SOURCES = {
    grammar: "**/*.py *.lark *.toml",
    dictation: "visit/*.py records/*.py records/practice/*.py errors.py disk.py gate.py"
    " audio/samples.py recognition/protocol.py",
}
"""Packages, and their files from which an exam and its line are made."""


def sources() -> tuple[Path, ...]:
    """The files, in order."""
    found: list[Path] = []
    for package, patterns in SOURCES.items():
        root = Path(str(package.__file__)).parent
        found += sorted({path for pattern in patterns.split() for path in root.glob(pattern)})
    return tuple(found)


@cache
def reckoning() -> str:
    """Which reckoning made a line: a digest of all it depends on, reckoned once a process.

    Nobody has to remember to raise a number: a changed rule, curve or word is another reckoning,
    and what was kept under the old one is made again.
    """
    digest = hashlib.sha256()
    for path in sources():
        digest.update(path.name.encode())
        digest.update(path.read_bytes())
    return digest.hexdigest()[:32]
