"""Signs of life and of loss."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from grammar.ageing.estimate import days_text
from grammar.ageing.landmarks import HEARTBEAT
from grammar.checks.pregnancy import lives, loss_numbers
from grammar.checks.rule import COMMON_PRACTICE, Family, Raised
from grammar.dating.days import ABORTION_BY_LAW_FROM_DAY, LOSS_SOURCE, loss_class
from grammar.facts import ExamFacts
from grammar.findings import Membranes, Viability

RULES = Family("viability", Viability)


def _both(
    facts: ExamFacts, one: Callable[[Viability], object], other: Callable[[Viability], object]
) -> Iterator[tuple[str, tuple[int, ...]]]:
    """Fetuses of which both are recorded, in words, with the findings; not unnumbered twins.

    Where there is one fetus, its number does not matter.
    """
    twins = (facts.fetuses or 1) > 1
    single = not twins and all((sign.fetus or 1) == 1 for _, sign in facts.of(Viability))
    for fetus in dict.fromkeys(None if single else sign.fetus for _, sign in facts.of(Viability)):
        group = [t for t in facts.of(Viability) if single or t.finding.fetus == fetus]
        ones = [number for number, sign in group if one(sign)]
        others = [number for number, sign in group if other(sign)]
        if ones and others and not (fetus is None and twins):
            yield "the fetus" if fetus is None else f"fetus {fetus}", (*ones, *others)


def _no_beat(sign: Viability) -> bool:
    return sign.heartbeat is False


@RULES.query(HEARTBEAT.source)
def no_heartbeat(facts: ExamFacts) -> Iterator[Raised]:
    """No heartbeat, after day 30 or at an unknown age, and the loss is not said."""
    numbers = facts.numbers(Viability, _no_beat)
    if not numbers or loss_numbers(facts) or facts.open or _too_young(facts):
        return
    age = facts.ages.best
    at = "at an age not known" if age is None else f"at {days_text(age.days)} days ({age.reason})"
    yield Raised(
        f"No heartbeat recorded {at}; it is seen from day {HEARTBEAT.not_before} to "
        f"{HEARTBEAT.expected_by}. Look again, and say whether the pregnancy is lost.",
        (("heartbeat seen by", f"day {HEARTBEAT.expected_by}"),),
        numbers,
    )


def _too_young(facts: ExamFacts) -> bool:
    age = facts.ages.best
    return age is not None and age.days <= (HEARTBEAT.expected_by or 0)


@RULES.note(HEARTBEAT.source)
def no_heartbeat_yet(facts: ExamFacts) -> Iterator[Raised]:
    """No heartbeat at an age when it may not be seen yet."""
    numbers = facts.numbers(Viability, _no_beat)
    age = facts.ages.best
    if numbers and age is not None and _too_young(facts) and not loss_numbers(facts):
        yield Raised(
            f"No heartbeat at {days_text(age.days)} days ({age.reason}) says little yet: it is "
            f"first seen from day {HEARTBEAT.not_before} to {HEARTBEAT.expected_by}.",
            (("age", f"{days_text(age.days)} d"),),
            numbers,
        )


@RULES.query(COMMON_PRACTICE)
def heartbeat_said_two_ways(facts: ExamFacts) -> Iterator[Raised]:
    """Heartbeat and no heartbeat of one fetus."""
    for which, numbers in _both(facts, lambda sign: sign.heartbeat, _no_beat):
        why = f"Both a heartbeat and none are recorded of {which}. Say which it is."
        yield Raised(why, (), numbers)


@RULES.query(COMMON_PRACTICE)
def movement_without_heartbeat(facts: ExamFacts) -> Iterator[Raised]:
    """Movement and no heartbeat of one fetus."""
    for which, numbers in _both(facts, lambda sign: sign.movement, _no_beat):
        yield Raised(f"Movement and no heartbeat are recorded of {which}. Look again.", (), numbers)


@RULES.query(COMMON_PRACTICE)
def alive_and_lost(facts: ExamFacts) -> Iterator[Raised]:
    """A sign of life and a loss of one fetus."""
    for which, numbers in _both(facts, lives, lambda sign: sign.loss):
        why = f"A sign of life and a loss are recorded of {which}. Say which it is."
        yield Raised(why, (), numbers)


@RULES.query(COMMON_PRACTICE)
def detached_membranes(facts: ExamFacts) -> Iterator[Raised]:
    """Detached membranes, pregnant, and the loss is not said."""
    numbers = facts.numbers(Viability, lambda sign: sign.membranes is Membranes.DETACHED)
    if numbers and facts.pregnant and not loss_numbers(facts):
        yield Raised(
            "Detached membranes in an animal recorded pregnant. Look again at the heartbeat, and "
            "say whether the pregnancy is lost.",
            (("membranes", "detached"),),
            numbers + facts.status_numbers,
        )


@RULES.query(LOSS_SOURCE)
def pregnant_and_lost(facts: ExamFacts) -> Iterator[Raised]:
    """Pregnant and lost are recorded of a single pregnancy."""
    lost = loss_numbers(facts)
    # Where open is said as well, which of the two it is is asked already.
    if not lost or not facts.pregnant or facts.open or (facts.fetuses or 1) > 1:
        return
    age = facts.ages.best
    name = ""
    if age is not None:
        name = f" At {days_text(age.days)} days this is counted as {loss_class(age.days)}."
        if age.days >= ABORTION_BY_LAW_FROM_DAY:
            name += " The law on reporting counts otherwise in some countries."
    yield Raised(
        f"Recorded pregnant and lost. Say whether she counts as pregnant or open.{name}",
        (("status", "pregnant, lost"),),
        lost + facts.status_numbers,
    )
