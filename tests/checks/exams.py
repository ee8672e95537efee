"""Exams put together from findings, for the tests of the rules."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from grammar.checks import check_exam
from grammar.exam import Exam, FindingState, Flag, KnownAnimal, RecordedFinding, Service
from grammar.findings import (
    Finding,
    Measurement,
    OvarianStructure,
    Ovary,
    Pregnancy,
    PregnancyStatus,
    Quantity,
    Side,
    StatedAs,
)

ON = date(2026, 5, 20)
LEFT, RIGHT, BOTH = Side.LEFT, Side.RIGHT, Side.BOTH
OPEN = Pregnancy(PregnancyStatus.OPEN)
UNCERTAIN = Pregnancy(PregnancyStatus.UNCERTAIN)


def exam(*findings: Finding, on: date = ON, tag: str | None = "837", **more: Any) -> Exam:
    """A closed exam of tag 837 with these findings, all accepted, numbered from 1."""
    recorded = tuple(
        RecordedFinding(number, finding, FindingState.ACCEPTED, f"words {number}")
        for number, finding in enumerate(findings, start=1)
    )
    return Exam(1, on, tag=tag, recorded=recorded, **{"closed": True, **more})


def pregnant(
    days: int | None = None, side: Side | None = None, stated_as: StatedAs | None = StatedAs.DAYS
) -> Pregnancy:
    """Pregnant, of so many days, in that horn."""
    return Pregnancy(
        PregnancyStatus.PREGNANT, days, side=side, stated_as=None if days is None else stated_as
    )


def cl(side: Side | None, size_mm: float | None = None) -> Ovary:
    """A corpus luteum."""
    return Ovary(side, OvarianStructure.CORPUS_LUTEUM, size_mm)


def follicle(side: Side | None, size_mm: float | None = None) -> Ovary:
    """A follicle."""
    return Ovary(side, OvarianStructure.FOLLICLE, size_mm)


def static(side: Side) -> Ovary:
    """A static ovary."""
    return Ovary(side, OvarianStructure.STATIC)


def crl(size_mm: float, fetus: int | None = None) -> Measurement:
    """A crown-rump length."""
    return Measurement(Quantity.CROWN_RUMP_LENGTH, size_mm, fetus)


def served(*days_ago: int, **more: Any) -> KnownAnimal:
    """A listed animal with services so many days before the exam."""
    services = tuple(Service(ON - timedelta(days=days)) for days in days_ago)
    return KnownAnimal("837", services=services, **more)


def bull(in_days_ago: int, out_days_ago: int | None = None, **more: Any) -> KnownAnimal:
    """A listed animal that ran with a bull, who is still there where no day out is given."""
    out = None if out_days_ago is None else ON - timedelta(days=out_days_ago)
    with_bull = Service(ON - timedelta(days=in_days_ago), out, natural=out is None or None)
    return KnownAnimal("837", services=(with_bull,), **more)


def before(days: int, *findings: Finding) -> Exam:
    """A closed exam of the same animal so many days before."""
    return exam(*findings, on=ON - timedelta(days=days))


def rules_of(checked: Exam) -> set[str]:
    """Identifiers of the rules that an exam raises."""
    return {flag.rule for flag in check_exam(checked)}


def flag_of(checked: Exam, rule: str) -> Flag:
    """The flag of one rule; fails where it is not raised."""
    found = [flag for flag in check_exam(checked) if flag.rule == rule]
    assert found, f"{rule} was not raised"
    return found[0]


@dataclass(frozen=True, slots=True)
class Case:
    """An exam that raises a rule and the like of it that does not."""

    rule: str
    fires: Exam
    quiet: Exam
