"""The findings of an exam, sorted for the rules.

Built once an exam. Where several findings of one kind stand, they are put in an order of their
own, so that no rule depends on the order in which they were spoken.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, fields
from datetime import date
from functools import cache, wraps
from operator import attrgetter
from typing import Any, Generic, NamedTuple, TypeVar

from grammar.dating.ages import Ages, ages_of
from grammar.dating.days import age_on
from grammar.dating.services import event_day, spoken_services
from grammar.exam import Exam, FindingState, Service
from grammar.findings import (
    Animal,
    AnimalClass,
    Conceptus,
    History,
    Measurement,
    Ovary,
    PastEvent,
    Pregnancy,
    PregnancyStatus,
    Side,
)

F = TypeVar("F")
# Number, finding, and whether it is still queried.
_Said = tuple[int, object, bool]


class Told(NamedTuple, Generic[F]):
    """A finding and its number in the visit."""

    number: int
    finding: F


@dataclass(frozen=True, slots=True)
class ExamFacts:
    """An exam as the rules read it; every tuple holds only findings that count.

    ``told``: the findings of each type. ``ovaries`` are structures that are there; ``absent`` those
    said not to be (a count of 0). ``kept``: what ``once`` worked out.
    """

    exam: Exam
    told: Mapping[type, tuple[Told[Any], ...]]
    ovaries: tuple[Told[Ovary], ...]
    absent: tuple[Told[Ovary], ...]
    queried_words: dict[int, str]
    queried: frozenset[int]
    statuses: frozenset[PregnancyStatus]
    services: tuple[Service, ...]
    ages: Ages
    days_calved: int | None
    kept: dict[object, Any] = field(default_factory=dict, compare=False, repr=False)

    def of(self, kind: type[F]) -> tuple[Told[F], ...]:
        """The findings of a type."""
        return self.told.get(kind, ())

    def numbers(self, kind: type[F], where: Callable[[F], object] = bool) -> tuple[int, ...]:
        """Numbers of the findings of a type, all or those for which ``where`` holds."""
        return tuple(number for number, finding in self.of(kind) if where(finding))

    @property
    def on(self) -> date:
        """The day of the exam."""
        return self.exam.on_date

    @property
    def pregnant(self) -> bool:
        """Whether she is recorded pregnant (whatever else is recorded)."""
        return PregnancyStatus.PREGNANT in self.statuses

    @property
    def open(self) -> bool:
        """Whether she is recorded open (whatever else is recorded)."""
        return PregnancyStatus.OPEN in self.statuses

    @property
    def status_numbers(self) -> tuple[int, ...]:
        """Numbers of the findings that say whether she is in calf."""
        return self.numbers(Pregnancy)

    @property
    def last_service(self) -> Service | None:
        """The latest service not after the exam; a mating period counts by its last day."""
        past = [service for service in self.services if service.first_day <= self.on]
        return max(past, key=lambda s: s.until(self.on), default=None)

    @property
    def bull_with_her(self) -> bool:
        """Whether a bull is listed with her that nobody has taken out before the exam."""
        return any(
            not service.single and service.first_day <= self.on <= service.until(self.on)
            for service in self.services
        )

    @property
    def heifer(self) -> bool | None:
        """Whether she has not calved, as said now or as listed; None where nobody said."""
        return _heifer(self)

    @property
    def fetuses(self) -> int | None:
        """The largest number of embryos or fetuses said; None where none was."""
        return _fetuses(self)

    @property
    def gravid_sides(self) -> frozenset[Side]:
        """Horns in which a pregnancy is recorded."""
        return frozenset(
            told.finding.side
            for told in self.of(Pregnancy)
            if told.finding.side in (Side.LEFT, Side.RIGHT)
            and told.finding.status is PregnancyStatus.PREGNANT
        )


def once(work: Callable[[ExamFacts], F]) -> Callable[[ExamFacts], F]:
    """A function of facts that several rules ask for: worked out once an exam, never changed."""

    @wraps(work)
    def worked_out(facts: ExamFacts) -> F:
        if work not in facts.kept:
            facts.kept[work] = work(facts)
        found: F = facts.kept[work]
        return found

    return worked_out


@once
def _heifer(facts: ExamFacts) -> bool | None:
    said = {told.finding.animal_class for told in facts.of(Animal)} - {None}
    if said:
        return AnimalClass.HEIFER in said
    known = facts.exam.known
    if known is None or (known.animal_class is None and known.parity is None):
        return None
    return known.parity == 0 if known.parity is not None else known.animal_class == "heifer"


@once
def _fetuses(facts: ExamFacts) -> int | None:
    return max((told.finding.count for told in facts.of(Conceptus)), default=None)


def facts_of(exam: Exam) -> ExamFacts:
    """Sort the findings of an exam. Never raises."""
    by_type: dict[type, list[_Said]] = {}
    queried: dict[int, str] = {}
    for record in exam.recorded:
        if record.state is FindingState.WITHDRAWN:
            continue
        doubtful = record.state is FindingState.QUERIED
        said = (record.number, record.finding, doubtful)
        by_type.setdefault(type(record.finding), []).append(said)
        if doubtful:
            queried[record.number] = record.heard
    told = {kind: _in_order(found) for kind, found in by_type.items()}
    ovaries: tuple[Told[Ovary], ...] = told.get(Ovary, ())
    pregnancies = [t.finding for t in told.get(Pregnancy, ())]
    histories: tuple[Told[History], ...] = told.get(History, ())
    services = _services(exam, histories)
    return ExamFacts(
        exam=exam,
        told=told,
        ovaries=tuple(t for t in ovaries if t.finding.count != 0),
        absent=tuple(t for t in ovaries if t.finding.count == 0),
        queried_words=queried,
        queried=frozenset(queried),
        statuses=frozenset(pregnancy.status for pregnancy in pregnancies),
        services=services,
        ages=ages_of(
            [p for p in pregnancies if p.status is PregnancyStatus.PREGNANT],
            [t.finding for t in told.get(Measurement, ())],
            services,
            exam.on_date,
        ),
        days_calved=_days_calved(exam, histories),
    )


@cache
def _fields_of(kind: Any) -> Callable[[object], tuple[object, ...]]:
    """Reads the fields of such a finding; the class stands with them, so they are never one."""
    return attrgetter(*(each.name for each in fields(kind)), "__class__")


def _in_order(found: list[_Said]) -> tuple[Told[Any], ...]:
    if len(found) > 1:
        kind: Any = type(found[0][1])
        fields_of = _fields_of(kind)
        found.sort(key=lambda said: (*map(repr, fields_of(said[1])), said[2], said[0]))
    return tuple(Told(number, finding) for number, finding, _ in found)


def _services(exam: Exam, histories: tuple[Told[History], ...]) -> tuple[Service, ...]:
    listed = exam.known.services if exam.known is not None else ()
    if not histories:
        return listed
    days = {service.first_day for service in listed}
    spoken = spoken_services((told.finding for told in histories), exam.on_date)
    return (*listed, *(service for service in spoken if service.first_day not in days))


def _days_calved(exam: Exam, histories: tuple[Told[History], ...]) -> int | None:
    days = [] if exam.known is None or exam.known.calved_on is None else [exam.known.calved_on]
    for told in histories:
        if told.finding.event is PastEvent.CALVED:
            day = event_day(told.finding, exam.on_date)
            days.extend(() if day is None else (day,))
    past = [age_on(day, exam.on_date) for day in days if day <= exam.on_date]
    return min(past, default=None)
