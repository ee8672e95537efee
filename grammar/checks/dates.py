"""Dates that cannot be: of services, calvings and the bull, and a due date that is past."""

from __future__ import annotations

from collections.abc import Iterator

from grammar.ageing.estimate import AgeFrom, days_text
from grammar.checks.rule import COMMON_PRACTICE, Family, Raised
from grammar.dating.calving import due_date, is_over
from grammar.dating.days import age_on, service_day
from grammar.dating.services import service_text
from grammar.facts import ExamFacts
from grammar.findings import Pregnancy
from grammar.plausible import DAYS_AGO, PREGNANCY_DAYS
from grammar.summary import gestation, summarise

RULES = Family("dates")
SHORTEST_DAYS = 241
_TERM = (
    "2,734 Holstein gestations, Univ. Copenhagen (99 % within 261 to 290 d); Copeland 1930, J "
    "Dairy Sci 13 (extremes of 241 and 321 d)"
)
_HEAT = "oestrus during pregnancy, one farm (abstract): 5.7 %, most at days 121 to 240"


@RULES.query(_TERM, Pregnancy)
def due_before_exam(facts: ExamFacts) -> Iterator[Raised]:
    """Pregnant by a service or a measure that would have had her calve before this exam."""
    age = facts.ages.best
    if not facts.pregnant or facts.open or age is None or age.days < SHORTEST_DAYS:
        return
    if _long_age_said(facts):
        return
    day = service_day(facts.on, age.days)
    due = None if day is None else due_date(day, gestation(facts))
    if day is None or (due is not None and is_over(due, facts.on)):
        due_on = "long ago" if due is None else due.on.isoformat()
        yield Raised(
            f"{days_text(age.days)} days in calf ({age.reason}): she was due {due_on}, before this "
            "exam. No due date is given. Check the service, whether she calved, and the tag.",
            (("age", f"{days_text(age.days)} d"), ("due", due_on)),
            facts.status_numbers,
        )


def _long_age_said(facts: ExamFacts) -> bool:
    """Whether an age is said that no pregnancy has, which has its own rule."""
    said = (told.finding.age_days for told in facts.of(Pregnancy))
    return any(days is not None and not PREGNANCY_DAYS.holds(days) for days in said)


@RULES.query("arithmetic")
def listed_date_cannot_be(facts: ExamFacts) -> Iterator[Raised]:
    """The herd list has a service, a bull or a calving after the exam, or a calving of long ago."""
    known = facts.exam.known
    if known is None:
        return
    late = [f"served {service_text(s)}" for s in known.services if s.first_day > facts.on]
    if known.calved_on is not None and known.calved_on > facts.on:
        late.append(f"calved {known.calved_on.isoformat()}")
    when = "after this exam"
    if known.calved_on is not None and age_on(known.calved_on, facts.on) > DAYS_AGO.high:
        late, when = (
            [f"calved {known.calved_on.isoformat()}"],
            "over ten years before this exam",
        )
    if late:
        told = " and ".join(late)
        yield Raised(
            f"The herd list has her {told}, {when} ({facts.on.isoformat()}). Check the dates of "
            "the list and of the visit.",
            (("listed", told), ("exam", facts.on.isoformat())),
        )


@RULES.query(f"arithmetic; {_HEAT}", Pregnancy)
def served_after_conception(facts: ExamFacts) -> Iterator[Raised]:
    """She was served again after the service that the pregnancy fits."""
    fit = facts.ages.fit
    if not facts.pregnant or fit.chosen is None or facts.ages.best is None:
        return
    chosen = fit.chosen
    later = [
        c
        for c in fit.candidates
        if c.service.single and c.high_days < chosen.low_days and c not in fit.also
    ]
    if later:
        names = ", ".join(f"{service_text(c.service)}, {c.high_days} days ago" for c in later)
        yield Raised(
            f"The age fits the service of {service_text(chosen.service)}, and she was served after "
            f"it: {names}. Heat in pregnancy is seldom: check which one held.",
            (("fits", service_text(chosen.service)), ("served after", names)),
            facts.status_numbers,
        )


@RULES.query("arithmetic", Pregnancy)
def bull_never_out(facts: ExamFacts) -> Iterator[Raised]:
    """Pregnant by a bull whose last day is not listed, and no age is said or measured."""
    fit, age = facts.ages.fit, facts.ages.best
    if not facts.pregnant or age is None or age.age_from is not AgeFrom.SERVICE:
        return
    if (
        fit.chosen is not None
        and not fit.chosen.service.single
        and fit.chosen.service.last_day is None
    ):
        since = fit.chosen.service.first_day.isoformat()
        days = age_on(fit.chosen.service.first_day, facts.on)
        yield Raised(
            f"The bull went in on {since} and no day is listed on which he came out: any of "
            f"{days} days may be the day. No due date is given until an age is said.",
            (("bull in", since), ("days", str(days))),
            facts.status_numbers,
        )


@RULES.note(COMMON_PRACTICE, Pregnancy)
def breed_not_known(facts: ExamFacts) -> Iterator[Raised]:
    """The due date of a breed that is not known is reckoned with the length of all breeds."""
    known = facts.exam.known
    due = None if known is None or known.breed is None else summarise(facts).due
    if due is not None and "not known" in due.gestation.breed:
        yield Raised(
            f"The due date is reckoned with {due.gestation.mean_days} days "
            f"({due.gestation.breed}). Name the breed on the herd list.",
            (("breed", due.gestation.breed), ("days", str(due.gestation.mean_days))),
            facts.status_numbers,
        )
