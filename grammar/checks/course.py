"""Cysts, ovaries at rest and rechecks over several visits."""

from __future__ import annotations

from collections.abc import Iterator

from grammar.checks.history import Before, earlier
from grammar.checks.rule import COMMON_PRACTICE, Family, Raised
from grammar.checks.tract import (
    ALL_SOURCES,
    CYSTS,
    DEFINITIONS,
    corpora_lutea,
    on_sides,
    ovary_numbers,
    static_sides,
)
from grammar.facts import ExamFacts
from grammar.findings import OvarianStructure, Ovary, Side
from grammar.history import missed_rechecks, recheck_day

RULES = Family("history")


def _cyst_sides(facts: ExamFacts) -> dict[Side, list[int]]:
    chosen = DEFINITIONS[facts.exam.settings.cyst_definition]
    sides: dict[Side, list[int]] = {}
    for number, ovary in facts.ovaries:
        large = ovary.structure is OvarianStructure.FOLLICLE and chosen.size_met(ovary.size_mm or 0)
        if ovary.structure in CYSTS or large:
            for side in on_sides(ovary.side):
                sides.setdefault(side, []).append(number)
    return sides


def _cysts(facts: ExamFacts) -> Iterator[tuple[Side, tuple[int, ...], Before | None]]:
    """Sides with a cyst and no corpus luteum anywhere, the findings, and where it was first seen.

    That is the earliest of the unbroken run of earlier exams with a cyst on this side.
    """
    if corpora_lutea(facts):
        return
    for side, numbers in _cyst_sides(facts).items():
        first = None
        for before in earlier(facts):
            if side not in _cyst_sides(before.facts):
                break
            first = before
        yield side, tuple(numbers), first


@RULES.note(ALL_SOURCES, Ovary)
def cyst_not_yet_persistent(facts: ExamFacts) -> Iterator[Raised]:
    """A cyst is recorded for fewer days than the definition of the settings asks."""
    chosen = DEFINITIONS[facts.exam.settings.cyst_definition]
    if recheck_day(facts.exam) is not None:  # the second look is planned
        return
    for side, numbers, first in _cysts(facts):
        if first is None or first.days < chosen.persists_days:
            seen = "on this visit only" if first is None else f"for {first.days} days"
            yield Raised(
                f"A cyst on the {side} ovary is seen {seen}; the definition in use is "
                f"{chosen.words} without a corpus luteum. A second look settles it.",
                (("seen", seen), ("definition used", chosen.words)),
                numbers,
            )


@RULES.note(ALL_SOURCES, Ovary)
def cyst_persists(facts: ExamFacts) -> Iterator[Raised]:
    """A cyst on one side has stood for the days that the definition of the settings asks."""
    chosen = DEFINITIONS[facts.exam.settings.cyst_definition]
    for side, numbers, first in _cysts(facts):
        if first is not None and first.days >= chosen.persists_days:
            yield Raised(
                f"A cyst on the {side} ovary was also recorded on {first.day}, {first.days} days "
                f"ago: as long as the definition in use asks ({chosen.words}).",
                (("first recorded", first.day), ("days", str(first.days))),
                numbers,
            )


@RULES.note(COMMON_PRACTICE, Ovary)
def static_twice(facts: ExamFacts) -> Iterator[Raised]:
    """Both ovaries are static at two exams a week or more apart."""
    if len(static_sides(facts)) < 2:
        return
    before = next((b for b in earlier(facts) if b.days >= 7), None)
    if before is not None and len(static_sides(before.facts)) == 2:
        yield Raised(
            f"Both ovaries static on {before.day} and again now, {before.days} days later, as "
            "recorded.",
            (("then", before.day), ("days", str(before.days))),
            ovary_numbers(facts, {OvarianStructure.STATIC}),
        )


@RULES.note(COMMON_PRACTICE)
def recheck_not_done(facts: ExamFacts) -> Iterator[Raised]:
    """A recheck was asked for and not done within a week of its day."""
    if not facts.exam.earlier:
        return
    for missed in missed_rechecks((*facts.exam.earlier, facts.exam), facts.on):
        yield Raised(
            f"A recheck asked for on {missed.asked_on.isoformat()} was due on "
            f"{missed.due_on.isoformat()} and is not on record.",
            (("asked", missed.asked_on.isoformat()), ("due", missed.due_on.isoformat())),
        )
