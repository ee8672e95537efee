"""The plan to print and take to the race: tag, why, what was found last, and a place to write."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date

from dictation.records.farm_list.page import rendered
from dictation.records.farm_list.part import SMALLER, Part, day, in_order, line_of
from dictation.records.farm_list.to_do import NO_DAY_OUT, tasks_of, why
from dictation.records.plan_list import Planned
from grammar.exam import Exam, KnownAnimal

FOOT = "Reckoned from dates alone; the vet decides. Sources: {}."
ROOM = "\N{NO-BREAK SPACE}"


def plan_page(
    planned: tuple[Planned, ...],
    animals: tuple[KnownAnimal, ...],
    on: date,
    last: Mapping[str, Exam],
    farm: str | None = None,
) -> str:
    """The whole HTML file. ``last``: the exam at which each tag was last seen."""
    mine = in_race_order(planned, animals)
    pens = any(each.animal.pen for each in mine)
    lines = tuple(
        line_of(
            Exam(0, on, each.animal.tag, known=each.animal),
            (each.animal.pen or "",) * pens
            + (
                "; ".join(r.why for r in each.reasons),
                _last(last.get(each.animal.tag)),
                ROOM,
            ),
            box=True,
        )
        for each in mine
    )
    columns = ("Pen",) * pens + ("Why", "Last time", "Today")
    sources = dict.fromkeys(r.source for each in mine for r in each.reasons)
    part = Part("plan", "To examine", columns, lines, f"of {len(animals)} on the list")
    foot = FOOT.format("; ".join(sources))
    return rendered(farm, on, title="Plan for", parts=(part,) if lines else (), foot=foot)


def in_race_order(
    planned: tuple[Planned, ...], animals: Iterable[KnownAnimal]
) -> tuple[Planned, ...]:
    """As they come through the race: in the order of the list, where it has one of its own, else by
    tag. A list that is sorted by its tags says nothing of the race."""
    tags = [animal.tag for animal in animals]
    sorted_by_tag = sorted(tags, key=in_order) == tags or sorted(tags) == tags
    place = {tag: number for number, tag in enumerate(tags)}
    if sorted_by_tag:
        return tuple(sorted(planned, key=lambda each: in_order(each.animal.tag)))
    return tuple(sorted(planned, key=lambda each: place.get(each.animal.tag, len(tags))))


def _last(exam: Exam | None) -> str:
    """What was found and planned when she was last seen."""
    if exam is None:
        return ""
    planned = ", ".join(what.removesuffix(f"; {NO_DAY_OUT}") for _, what in tasks_of(exam))
    told = "; ".join(filter(None, (why(exam), f"planned: {planned}" if planned else "")))
    return f"{day(exam.on_date)}{SMALLER}{told}"
