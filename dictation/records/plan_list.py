"""Who should be examined at the next visit, and why: what a herd list and earlier visits say.

A proposal from dates, in plain words; the vet decides. Each reason has its source.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from dictation.records.ahead import doubtful_identity, result_of, settled
from dictation.records.farm_list.part import day
from dictation.visit.herd_numbers import HerdNumbers
from grammar.dating.calving import ROMANO, SEEN_FROM_COW, SURE_FROM_COW, SURE_FROM_HEIFER, due_date
from grammar.dating.gestation import gestation_length
from grammar.dating.services import bull_breeds
from grammar.exam import Exam, KnownAnimal, Service
from grammar.facts import facts_of
from grammar.findings import Plan, PlanAction, PregnancyStatus
from grammar.history import RECHECK_GRACE_DAYS, recheck_day

# Penn State extension: a voluntary waiting period of 60 days is common.
WAITING_DAYS = 60
_WAITING_SOURCE = "Penn State extension (60 days between calving and service are common)"
# The same text: the uterus is back to its size 30 to 40 days after calving.
INVOLUTION_DAYS = (30, 40)
_INVOLUTION_SOURCE = "Penn State extension (30 to 40 days for the uterus)"
SECOND_LOOK_DAYS = (45, 60)
LAST_LOOK_DAYS = (200, 220)
_LOOKS_SOURCE = "common schedule (general, from memory)"
COMMON = "common practice, no source"

# English, German, Dutch, French, Spanish, Portuguese, Italian, Danish; common practice, no source.
PREGNANT = frozenset(
    {"pregnant", "in calf", "positive", "pd+", "pd positive", "preg", "tragend", "trächtig"}
    | {"drachtig", "pleine", "gestante", "preñada", "prenhe", "prenha", "gravida", "drægtig"}
)
OPEN = frozenset(
    {"open", "empty", "not pregnant", "not in calf", "negative", "pd-", "pd negative", "leer"}
    | {"nicht tragend", "gust", "niet drachtig", "vide", "vacía", "vazia", "vuota", "tom"}
)


@dataclass(frozen=True, slots=True)
class Reason:
    """Why an animal should be looked at. ``rank``: 0 first; ``days``: how long it is so."""

    rank: int
    rule: str
    why: str
    days: int
    source: str


@dataclass(frozen=True, slots=True)
class Planned:
    """An animal to be examined, with every reason, the most pressing first."""

    animal: KnownAnimal
    reasons: tuple[Reason, ...]


@dataclass(frozen=True, slots=True)
class EarlierResult:
    """A clear result. ``service``: the one it is of; reckoned from her age where none is known.

    Of an open animal it is None: the result is of every service that could be seen by then.
    """

    on: date
    pregnant: bool
    service: Service | None = None

    def is_about(self, service: Service) -> bool:
        """Whether it still holds, where that was her last service.

        A service after a result says that she came into heat again; one shortly before an 'open'
        was too young to be seen.
        """
        days = (self.on - service.until(self.on)).days
        return days >= (0 if self.pregnant else SEEN_FROM_COW)


def plan(
    animals: Iterable[KnownAnimal], on: date, earlier: Iterable[Exam] = ()
) -> tuple[Planned, ...]:
    """Animals with a reason to be examined on ``on``, by the weight of it and then by how long.

    ``earlier``: exams of earlier visits, for rechecks that were asked for, and for results.
    """
    before = [exam for exam in earlier if exam.on_date < on]
    visited = sorted({exam.on_date for exam in before})
    known = {animal.tag: animal for animal in animals}
    numbers = HerdNumbers(known.values())
    last = last_seen(before, numbers)
    told = [exam for exam in before if _result(exam) is not None]
    results = {tag: _result(exam) for tag, exam in last_seen(told, numbers).items()}
    # Who was asked for again and is on no list is asked for all the same.
    unlisted = [KnownAnimal(tag) for tag in last if tag not in known]
    found = []
    for animal in (*known.values(), *unlisted):
        tag = animal.tag
        every = [*_reasons(animal, on, last.get(tag), results.get(tag))]
        if tag in last:
            every += _not_done(animal, last[tag], on, visited)
        reasons = sorted(every, key=lambda reason: reason.rank)
        if reasons:
            found.append(Planned(animal, tuple(reasons)))
    return tuple(sorted(found, key=_order))


def last_seen(exams: Iterable[Exam], numbers: HerdNumbers) -> dict[str, Exam]:
    """The last exam of each animal, by the tag that the list has for her."""
    last = {}
    for exam in sorted(exams, key=lambda e: (e.on_date, e.number)):
        if exam.tag is not None:
            meant = numbers.named(exam.tag)
            last[meant[0].tag if len(meant) == 1 else exam.tag] = exam
    return last


def _result(exam: Exam) -> EarlierResult | None:
    """What was found; nothing where it is in doubt, or which animal it was."""
    facts = facts_of(settled(exam))
    result = None if doubtful_identity(exam) is not None else result_of(exam, facts)
    if result in ("lost", PregnancyStatus.OPEN):
        return EarlierResult(exam.on_date, pregnant=False)
    if result != PregnancyStatus.PREGNANT:
        return None
    ages = facts.ages
    if ages.fit.chosen is not None:
        return EarlierResult(exam.on_date, True, ages.fit.chosen.service)
    served = None if ages.best is None else facts.on - timedelta(days=round(ages.best.days))
    return EarlierResult(exam.on_date, True, None if served is None else Service(served))


def not_understood(animals: Iterable[KnownAnimal]) -> tuple[str, ...]:
    """Words for an earlier result that were not understood, and so were taken as no result."""
    words = {a.last_status for a in animals if a.last_status and _status(a.last_status) is None}
    return tuple(sorted(words))


def _order(planned: Planned) -> tuple[int, int, str]:
    first = planned.reasons[0]
    return first.rank, -first.days, planned.animal.tag.zfill(20)


def _status(text: str | None) -> bool | None:
    words = " ".join((text or "").lower().split())
    return True if words in PREGNANT else False if words in OPEN else None


def _reasons(
    animal: KnownAnimal, on: date, last: Exam | None, result: EarlierResult | None
) -> Iterator[Reason]:
    if last is not None:
        yield from _asked_for(last, on)
    if result is not None and animal.calved_on is not None and animal.calved_on >= result.on:
        result = None
    service = _last_service(animal, on)
    since_calving = None if animal.calved_on is None else (on - animal.calved_on).days
    if since_calving is not None and since_calving < 0:
        since_calving = None
    if service is None and result is not None and result.pregnant:
        if result.service is not None:
            yield from _pregnant(animal, result.service, on)
    elif service is None:
        yield from _not_served(animal, since_calving)
    else:
        if result is not None and not result.is_about(service):
            result = None
        yield from _served(animal, service, since_calving, on, result)


def _served(
    animal: KnownAnimal,
    service: Service,
    since_calving: int | None,
    on: date,
    result: EarlierResult | None,
) -> Iterator[Reason]:
    days = (on - service.until(on)).days
    pregnant = _status(animal.last_status)
    if result is not None:
        if pregnant is (not result.pregnant):
            said, listed = ("in calf", "open") if result.pregnant else ("open", "in calf")
            why = f"{said} at the visit of {day(result.on)}, {listed} by the list: which is it?"
            yield Reason(1, "list_and_visit_differ", why, days, COMMON)
            return
        pregnant, service = result.pregnant, result.service or service
    if pregnant is True:
        yield from _pregnant(animal, service, on)
    elif pregnant is False:
        yield from _open(since_calving, days)
    elif days >= (SURE_FROM_HEIFER if _is_heifer(animal) else SURE_FROM_COW):
        why = f"served {_days(days)} ago and not checked since: in calf or not?"
        yield Reason(1, "served_not_checked", why, days, ROMANO)


def _asked_for(last: Exam, on: date) -> Iterator[Reason]:
    due = recheck_day(settled(last))
    if due is None or due > on + timedelta(days=RECHECK_GRACE_DAYS):
        return
    late = (on - due).days
    when = f"due on {day(due)}" if late <= 0 else f"due on {day(due)}, {_days(late)} ago"
    why = f"to be looked at again, {when} (asked for on {day(last.on_date)})"
    yield Reason(0, "recheck_due", why, max(0, late), "as the vet asked")


def _not_done(
    animal: KnownAnimal, last: Exam, on: date, visited: Sequence[date]
) -> Iterator[Reason]:
    """What was planned when she was last seen, and no list or visit shows as done."""
    due = recheck_day(settled(last))
    passed = [then for then in visited if due is not None and last.on_date < due <= then]
    if passed:
        told = " and ".join(map(day, passed))
        yield Reason(0, "not_presented", f"not presented on {told}", len(passed), COMMON)
    served = [s for s in animal.services if s.first_day > last.on_date]
    plans = [f.action for f in settled(last).findings if isinstance(f, Plan)]
    if PlanAction.BREED in plans and not served:
        why = f"to be bred since {day(last.on_date)}, and no service is listed since"
        yield Reason(1, "breed_not_done", why, (on - last.on_date).days, COMMON)
    in_calf = result_of(last, facts_of(settled(last))) == PregnancyStatus.PREGNANT
    if in_calf and served:
        again = day(served[-1].first_day)
        why = f"in calf on {day(last.on_date)}, and served again on {again}: lost?"
        yield Reason(1, "served_since_in_calf", why, (on - served[-1].first_day).days, COMMON)


def _pregnant(animal: KnownAnimal, service: Service, on: date) -> Iterator[Reason]:
    days = (on - service.first_day).days
    length = gestation_length(animal.breed, _is_heifer(animal), sire=bull_breeds(service))
    due = due_date(service.until(on), length)
    if due is not None and on > due.latest:
        why = f"in calf, should have calved by {day(due.latest)} (served {_days(days)} ago)"
        yield Reason(2, "past_calving", why, (on - due.latest).days, length.source)
        return
    for rule, (first, last), words in (
        ("second_look", SECOND_LOOK_DAYS, "a second look finds early losses"),
        ("last_look", LAST_LOOK_DAYS, "a last look before drying off"),
    ):
        if first <= days <= last:
            why = f"in calf, served {_days(days)} ago: {words}"
            yield Reason(4, rule, why, days, _LOOKS_SOURCE)


def _open(since_calving: int | None, days: int) -> Iterator[Reason]:
    if since_calving is not None and since_calving > WAITING_DAYS:
        why = f"open, calved {_days(since_calving)} ago, last served {_days(days)} ago"
        yield Reason(3, "open_long", why, since_calving, _WAITING_SOURCE)
    else:
        yield Reason(3, "open", f"open, last served {_days(days)} ago", days, COMMON)


def _not_served(animal: KnownAnimal, since_calving: int | None) -> Iterator[Reason]:
    if since_calving is None:
        if _status(animal.last_status) is True:
            why = "in calf by the list, and no service is known to reckon with"
            yield Reason(5, "pregnant_no_service", why, 0, COMMON)
        return
    if since_calving > WAITING_DAYS:
        why = f"calved {_days(since_calving)} ago and not served since"
        yield Reason(3, "not_served", why, since_calving, _WAITING_SOURCE)
    elif INVOLUTION_DAYS[0] <= since_calving <= INVOLUTION_DAYS[1]:
        why = f"calved {_days(since_calving)} ago: is the uterus back to its size?"
        yield Reason(5, "after_calving", why, since_calving, _INVOLUTION_SOURCE)


def _last_service(animal: KnownAnimal, on: date) -> Service | None:
    """The latest service before ``on`` that is of this lactation."""
    past = [
        service
        for service in animal.services
        if service.first_day <= on
        and (animal.calved_on is None or service.first_day > animal.calved_on)
    ]
    return max(past, key=lambda s: s.until(on), default=None)


def _is_heifer(animal: KnownAnimal) -> bool:
    return animal.parity == 0 or (animal.parity is None and animal.animal_class == "heifer")


def _days(count: int) -> str:
    return f"{count} day{'' if count == 1 else 's'}"
