"""An animal beside her own earlier exams."""

from __future__ import annotations

from collections.abc import Iterator
from math import hypot
from typing import NamedTuple

from grammar.ageing.estimate import days_text
from grammar.checks.fetal_sex import sexes_of
from grammar.checks.pregnancy import loss_numbers
from grammar.checks.rule import COMMON_PRACTICE, Family, Raised
from grammar.dating.calving import ROMANO, SURE_FROM_COW
from grammar.dating.days import LOSS_SOURCE, loss_class
from grammar.facts import ExamFacts, facts_of, once
from grammar.findings import Conceptus, FetalSex, Pregnancy

RULES = Family("history", Pregnancy)


class Before(NamedTuple):
    """An earlier exam and the days from it to this one."""

    facts: ExamFacts
    days: int

    @property
    def day(self) -> str:
        """Its date, ISO 8601."""
        return self.facts.on.isoformat()


@once
def earlier(facts: ExamFacts) -> list[Before]:
    """Earlier exams, the latest first."""
    past = [exam for exam in facts.exam.earlier if exam.on_date < facts.on]
    found = [Before(facts_of(exam), (facts.on - exam.on_date).days) for exam in past]
    return sorted(found, key=lambda before: (before.days, -before.facts.exam.number))


@once
def _last_pregnant(facts: ExamFacts) -> Before | None:
    """The latest earlier exam if it found her pregnant, and no calving or loss lies between."""
    for before in earlier(facts):
        if before.facts.open or loss_numbers(before.facts):
            return None
        if before.facts.pregnant:
            calved = facts.days_calved
            return None if calved is not None and calved <= before.days else before
    return None


@RULES.query("arithmetic; errors of the ages as stated with them")
def age_has_not_advanced(facts: ExamFacts) -> Iterator[Raised]:
    """The age now is not the earlier age plus the days between, by more than both errors."""
    now, before = facts.ages.best, _last_pregnant(facts)
    then = None if before is None else before.facts.ages.best
    if not facts.pregnant or now is None or before is None or then is None:
        return
    expected = then.days + before.days
    error = hypot(now.error_days, then.error_days)
    if abs(now.days - expected) > error:
        yield Raised(
            f"{days_text(then.days)} days on {before.day} should be {days_text(expected)} now, and "
            f"{days_text(now.days)} is recorded ({now.reason}). Check the tag and both ages; a "
            "loss and a new pregnancy would explain a younger one.",
            (
                ("then", f"{days_text(then.days)} d on {before.day}"),
                ("expected", f"{days_text(expected)} d"),
                ("now", f"{days_text(now.days)} d"),
                ("error", f"{days_text(error)} d"),
            ),
            facts.status_numbers,
        )


@RULES.query(LOSS_SOURCE)
def pregnant_then_open_now(facts: ExamFacts) -> Iterator[Raised]:
    """Pregnant at the last exam and open now, with no calving between and no loss said."""
    before = _last_pregnant(facts)
    if not facts.open or facts.pregnant or loss_numbers(facts) or before is None:
        return
    then = before.facts.ages.best
    figures = [("then", f"pregnant on {before.day}")]
    name = ""
    if then is not None:
        age = then.days + before.days
        figures.append(("age by now", f"{days_text(age)} d"))
        name = f" By now it would be {days_text(age)} days, a loss at most of that age: "
        name += f"{loss_class(age)} or earlier."
    yield Raised(
        f"Recorded pregnant on {before.day} and open now. Confirm the loss, or check the "
        f"tag.{name}",
        tuple(figures),
        facts.status_numbers,
    )


@RULES.query(COMMON_PRACTICE)
def listed_pregnant_open_now(facts: ExamFacts) -> Iterator[Raised]:
    """The herd list has her pregnant and she is recorded open, with no loss said."""
    known = facts.exam.known
    listed = (known.last_status or "").strip().lower() if known is not None else ""
    if not facts.open or facts.pregnant or loss_numbers(facts):
        return
    # An earlier exam that found her pregnant has its own rule.
    if listed == "pregnant" and _last_pregnant(facts) is None:
        yield Raised(
            "The herd list has her pregnant, and she is recorded open. Confirm the loss, or "
            "check the tag.",
            (("listed", listed),),
            facts.status_numbers,
        )


@RULES.query(ROMANO)
def open_then_older_pregnancy_now(facts: ExamFacts) -> Iterator[Raised]:
    """Open at an exam at which the pregnancy of now was past day 29."""
    now = facts.ages.best
    if not facts.pregnant or now is None:
        return
    for before in earlier(facts):
        then = now.days - before.days
        was_open = before.facts.open and not before.facts.pregnant
        if was_open and then - now.error_days > SURE_FROM_COW:
            yield Raised(
                f"Open on {before.day}, and {days_text(now.days)} days now ({now.reason}): she "
                f"would have been {days_text(then)} days pregnant then. Check the tag and the age.",
                (("then", f"open on {before.day}"), ("age then", f"{days_text(then)} d")),
                facts.status_numbers,
            )
            return


@RULES.query(COMMON_PRACTICE)
def fetal_sex_changed(facts: ExamFacts) -> Iterator[Raised]:
    """The fetal sex differs from the last exam."""
    before = _last_pregnant(facts)
    if not facts.pregnant or before is None:
        return
    then = set().union(*sexes_of(before.facts).values())
    now = set().union(*sexes_of(facts).values())
    same_count = (before.facts.fetuses or 1) == (facts.fetuses or 1)
    if then and now and then != now and same_count and len(then) == len(now):
        was, is_now = ", ".join(sorted(then)), ", ".join(sorted(now))
        yield Raised(
            f"The fetus was called {was} on {before.day} and {is_now} now. Check the tag, and look "
            "again.",
            (("then", f"{was} on {before.day}"), ("now", is_now)),
            facts.numbers(FetalSex),
        )


@RULES.query(
    "Silva del Rio et al. 2009, Theriogenology, press report (one of twins lost in 11.2 %)"
)
def fetuses_changed(facts: ExamFacts) -> Iterator[Raised]:
    """The number of fetuses differs from the last exam."""
    before = _last_pregnant(facts)
    if not facts.pregnant or before is None or facts.fetuses is None:
        return
    then = before.facts.fetuses
    if then is not None and then != facts.fetuses:
        yield Raised(
            f"{then} fetuses on {before.day}, {facts.fetuses} now. One may be lost or may have "
            "been missed; count again.",
            (("then", f"{then} on {before.day}"), ("now", str(facts.fetuses))),
            facts.numbers(Conceptus),
        )


@RULES.query(COMMON_PRACTICE)
def pregnant_horn_changed(facts: ExamFacts) -> Iterator[Raised]:
    """The pregnant horn differs from the last exam."""
    before = _last_pregnant(facts)
    if not facts.pregnant or before is None:
        return
    then, now = before.facts.gravid_sides, facts.gravid_sides
    if len(then) == 1 and len(now) == 1 and then != now:
        was, is_now = next(iter(then)), next(iter(now))
        yield Raised(
            f"Pregnant in the {was} horn on {before.day}, in the {is_now} horn now. Check the tag "
            "and the side.",
            (("then", f"{was} on {before.day}"), ("now", is_now.value)),
            facts.status_numbers,
        )
