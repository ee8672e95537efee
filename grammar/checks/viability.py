"""Signs of life and of loss."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from grammar.ageing.estimate import days_text
from grammar.ageing.landmarks import ALLOWANCE_DAYS, HEARTBEAT
from grammar.checks.pregnancy import loss_numbers
from grammar.checks.rule import COMMON_PRACTICE, Family, Raised
from grammar.dating.days import LOSS_SOURCE, loss_class
from grammar.facts import ExamFacts, Told
from grammar.findings import Membranes, Viability

RULES = Family("viability")


def _by_fetus(facts: ExamFacts) -> dict[int | None, list[Told[Viability]]]:
    """Signs of life by fetus; where there is one fetus, its number does not matter."""
    groups: dict[int | None, list[Told[Viability]]] = {}
    single = (facts.fetuses or 1) == 1 and all(
        (t.finding.fetus or 1) == 1 for t in facts.of(Viability)
    )
    for told in facts.of(Viability):
        groups.setdefault(None if single else told.finding.fetus, []).append(told)
    return groups


def _both(
    facts: ExamFacts, one: Callable[[Viability], bool], other: Callable[[Viability], bool]
) -> Iterator[tuple[str, tuple[int, ...]]]:
    """Fetuses of which both are recorded, in words, with the findings; not unnumbered twins."""
    for fetus, group in _by_fetus(facts).items():
        if fetus is None and (facts.fetuses or 1) > 1:
            continue
        numbers = tuple(t.number for t in group if one(t.finding) or other(t.finding))
        if any(one(t.finding) for t in group) and any(other(t.finding) for t in group):
            yield ("the fetus" if fetus is None else f"fetus {fetus}", numbers)


def _beats(sign: Viability) -> bool:
    return sign.heartbeat is True


def _no_beat(sign: Viability) -> bool:
    return sign.heartbeat is False


def _moves(sign: Viability) -> bool:
    return sign.movement is True


def _lost(sign: Viability) -> bool:
    return sign.loss is True


@RULES.query(HEARTBEAT.source)
def no_heartbeat(facts: ExamFacts) -> Iterator[Raised]:
    """No heartbeat, after day 27 or at an unknown age, and the loss is not said."""
    numbers = tuple(t.number for t in facts.of(Viability) if _no_beat(t.finding))
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
    return age is not None and age.days <= (HEARTBEAT.expected_by or 0) + ALLOWANCE_DAYS


@RULES.note(HEARTBEAT.source)
def no_heartbeat_yet(facts: ExamFacts) -> Iterator[Raised]:
    """No heartbeat at an age when it may not be seen yet."""
    numbers = tuple(t.number for t in facts.of(Viability) if _no_beat(t.finding))
    age = facts.ages.best
    if numbers and age is not None and _too_young(facts) and not loss_numbers(facts):
        yield Raised(
            f"No heartbeat at {days_text(age.days)} days ({age.reason}) says little yet: it is "
            f"seen by day {HEARTBEAT.expected_by}, with {ALLOWANCE_DAYS} days to allow.",
            (("age", f"{days_text(age.days)} d"),),
            numbers,
        )


@RULES.query(COMMON_PRACTICE)
def heartbeat_said_two_ways(facts: ExamFacts) -> Iterator[Raised]:
    """Heartbeat and no heartbeat of one fetus."""
    for which, numbers in _both(facts, _beats, _no_beat):
        yield Raised(
            f"Both a heartbeat and none are recorded of {which}. Say which it is.", (), numbers
        )


@RULES.query(COMMON_PRACTICE)
def movement_without_heartbeat(facts: ExamFacts) -> Iterator[Raised]:
    """Movement and no heartbeat of one fetus."""
    for which, numbers in _both(facts, _moves, _no_beat):
        yield Raised(f"Movement and no heartbeat are recorded of {which}. Look again.", (), numbers)


@RULES.query(COMMON_PRACTICE)
def alive_and_lost(facts: ExamFacts) -> Iterator[Raised]:
    """A sign of life and a loss of one fetus."""
    for which, numbers in _both(facts, lambda s: _beats(s) or _moves(s), _lost):
        yield Raised(
            f"A sign of life and a loss are recorded of {which}. Say which it is.", (), numbers
        )


@RULES.query(COMMON_PRACTICE)
def detached_membranes(facts: ExamFacts) -> Iterator[Raised]:
    """Detached membranes, pregnant, and the loss is not said."""
    numbers = tuple(
        t.number for t in facts.of(Viability) if t.finding.membranes is Membranes.DETACHED
    )
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
    if not lost or not facts.pregnant or (facts.fetuses or 1) > 1:
        return
    age = facts.ages.best
    name = (
        ""
        if age is None
        else (f" At {days_text(age.days)} days this is counted as {loss_class(age.days)}.")
    )
    yield Raised(
        f"Recorded pregnant and lost. Say whether she counts as pregnant or open.{name}",
        (("status", "pregnant, lost"),),
        lost + facts.status_numbers,
    )
