"""One invented visit that has something for every list, and the exports' way to it."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from functools import cache
from pathlib import Path

from dictation.decide.record import Flags, Record
from dictation.visit.apply import fold
from dictation.visit.facts import Happened, HerdListed, VisitOpened
from dictation.visit.journal import Journal
from dictation.visit.journal_state import Origin
from dictation.visit.state import Act, Visit
from grammar.checks import check_exam
from grammar.exam import KnownAnimal, Service
from tests.decide.spoken import ON, Chatter, Phrase, Unsure, acts_of, come_in

FARM = "Larkmoor Crossing"
OPENED = datetime(2026, 11, 18, 8, 55, 12, tzinfo=UTC)
ORIGIN = Origin(OPENED, OPENED + timedelta(hours=2), 77)

HERD = (
    KnownAnimal("837", "276000312312345", "Holstein", "cow", 3, date(2026, 7, 12),
                (Service(date(2026, 9, 12)), Service(date(2026, 10, 4), sire="Rowan"))),
    KnownAnimal("412", None, "Holstein", "cow", 2, date(2026, 6, 30),
                (Service(date(2026, 9, 20)),)),
    KnownAnimal("2605", None, "Holstein", "heifer", 0),
    KnownAnimal("1146", None, "Jersey", "cow", 4, date(2026, 6, 21)),
    KnownAnimal("388", None, "Holstein", "cow", 1, date(2026, 10, 17)),
    KnownAnimal("73", None, "Holstein", "cow", 2, date(2026, 5, 2)),
    KnownAnimal("906", None, "Holstein", "cow", 5, date(2026, 4, 11)),
)  # fmt: skip

SPOKEN: tuple[Phrase, ...] = (
    "cow eight three seven",
    "right ovary CL twenty-four",
    "left ovary small follicles",
    "pregnant forty-five days, right horn",
    "heartbeat seen, crown rump thirty millimetres",
    "next cow four one two",
    "left ovary CL twenty-two with a cavity six millimetres",
    "right ovary follicle twelve",
    "uterus clear",
    "open",
    "prostaglandin",
    "next heifer two six oh five",
    "pregnant thirty-two days, left horn",
    "left ovary CL twenty-one",
    "recheck in four weeks",
    "next cow one one four six",
    "pregnant sixty-four days",
    "twins, one in each horn",
    "first fetus male",
    "left ovary CL twenty-three",
    "right ovary CL twenty-five",
    "next cow three eight eight",
    "left ovary follicle ten",
    "uterus involuted",
    "next cow seven three",
    "left ovary follicular cyst thirty-two, thin wall",
    "endometritis",
    "open",
    "next cow nine oh six",
    "pregnant thirty-eight days",
    "no heartbeat, membranes detached",
    "embryonic loss",
    "recheck in two weeks",
    "next cow five five one",
    Unsure("left ovary CL forty", ("left ovary CL fourteen",)),
    "take a note",
    Chatter("=1+1 <b>the one with the torn ear</b>"),
    "uncertain",
)


LISTED = HerdListed("d" * 64, "herd.csv", HERD)


def acts_at(opened: datetime, *phrases: Phrase) -> list[Act]:
    """Entries a minute apart, on a named farm with a herd list."""

    def time_of(seq: int) -> str:
        return (opened + timedelta(minutes=seq - 1)).isoformat(timespec="milliseconds")

    return acts_of(*phrases, begun=(VisitOpened(ON, FARM), LISTED), time_of=time_of)


@cache
def farm_visit(*more: Phrase) -> Visit:
    """The visit, with more said after it."""
    return fold(acts_at(OPENED, *SPOKEN, *more))


def heard(*phrases: Phrase) -> Visit:
    """Another visit to the same farm."""
    return fold(acts_at(OPENED, *phrases))


def write_visit(folder: Path, *phrases: Phrase, farm: str | None = FARM, on: date = ON) -> Visit:
    """A journal with a herd list, in which these phrases were said; or more, where there is one."""
    begun: tuple[Happened, ...] = (VisitOpened(on, farm), LISTED)
    with Record(Journal.write(folder)) as record:
        for phrase in (*(() if record.visit.last_seq else begun), *phrases):
            record.take(*come_in(record.visit, phrase))
        return record.visit


def flags_of(visit: Visit) -> Flags:
    """What the checks say of each exam."""
    return {exam.number: check_exam(exam) for exam in visit.exams}
