"""In calf or not, and the age of the pregnancy."""

from __future__ import annotations

from datetime import date

from lark import Tree

from grammar.findings import (
    Command,
    CommandName,
    Pregnancy,
    PregnancyStatus,
    Side,
    Stage,
    StatedAs,
)
from grammar.numbers import DAYS_IN_MONTH, DAYS_IN_WEEK, cardinal, part_of_one, words_of
from grammar.statements.items import (
    Age,
    Content,
    GravidSide,
    Node,
    Readers,
    child,
    children,
    named,
    named_if,
)
from grammar.statements.places import place_within, spoken_side
from grammar.statements.sizes import small_number


def _pregnancy(node: Node, _: date | None) -> list[Content]:
    stage = named_if(child(node, "stage"), Stage)
    if stage is not None:
        return [Pregnancy(PregnancyStatus.PREGNANT, stage=stage)]
    status = named(child(node, "status"), PregnancyStatus)
    horn, place = child(node, "gravid_side"), place_within(node)
    side = _side(horn) if horn is not None else None if place is None else place.side
    ages = (_age_bare(c) for c in children(node) if "age_bare" in str(c.data))
    return [Pregnancy(status, side=side), *ages]


def _horn_pregnancy(node: Node, _: date | None) -> list[Content]:
    return [Pregnancy(PregnancyStatus.PREGNANT, side=_side(node))]


def _gravid_pregnancy(node: Node, _: date | None) -> list[Content]:
    return [Pregnancy(PregnancyStatus.PREGNANT, side=_side(children(node, "gravid_side")[0]))]


def _bred_pregnant(node: Node, _: date | None) -> list[Content]:
    """ "Bred thirty-eight days" is served so long ago to some, and so far in calf to others."""
    days = cardinal(words_of(children(node, "n_age")[0]))
    return [Pregnancy(PregnancyStatus.PREGNANT, days, stated_as=StatedAs.DAYS)]


def _confirmed(node: Node, _: date | None) -> list[Content]:
    age = next(_age_bare(c) for c in children(node) if "age_bare" in str(c.data))
    return [Pregnancy(PregnancyStatus.PREGNANT), age]


def _about_age_alone(node: Node, _: date | None) -> list[Content]:
    """ "About fifty" may also be the size of what was just named: both are shown."""
    return [Age(cardinal(words_of(children(node, "n_age")[0])), None, True, None)]


def _gravid_side(node: Node, _: date | None) -> list[Content]:
    return [GravidSide(_side(node))]


def _side(node: Node) -> Side:
    """The horn that carries."""
    side = spoken_side(child(node, "side"))
    assert side is not None
    return side


def _age_bare(node: Node) -> Age:
    numbers = [cardinal(words_of(n)) for n in children(node, "n_age")]
    upper = numbers[1] if node.data == "age_bare_range" else None
    return Age(numbers[0], upper, upper is not None or node.data == "about_age_bare", None)


def _age(node: Node, _: date | None) -> list[Content]:
    about = node.data == "about_age" or child(node, "approximately_after") is not None
    # of "nine weeks, no, eight weeks" the last counts
    value = [c for c in children(node) if str(c.data).startswith("age_")][-1]
    if value.data == "age_month":
        return [Age(DAYS_IN_MONTH, None, about, StatedAs.MONTHS)]
    said = named_if(child(value, "age_unit"), StatedAs)
    unit = said if said is not None or value.data == "age_ish" else StatedAs.DAYS
    unit = StatedAs.WEEKS if child(value, "weeker") else unit
    numbers = [cardinal(words_of(n)) for n in children(value, "n_age")]
    if value.data == "age_weeks_days":
        return [Age(numbers[0] * DAYS_IN_WEEK + numbers[1], None, about, StatedAs.DAYS)]
    factor = {StatedAs.WEEKS: DAYS_IN_WEEK, StatedAs.MONTHS: DAYS_IN_MONTH}.get(
        unit or StatedAs.DAYS, 1
    )
    upper = numbers[1] * factor if value.data in {"age_range", "age_pair"} else None
    about = about or upper is not None or value.data in {"age_ish", "age_and_bit"}
    # whole days, halves up: six and a half weeks is 46 days
    days = int(_amount(value, numbers) * factor + 0.5)
    return [Age(days, upper, about, unit, value.data == "age_pair")]


def _amount(value: Node, numbers: list[int]) -> float:
    if numbers:
        words = words_of(value)
        fraction = value.data == "age_and_half"
        return numbers[0] + (part_of_one(words[words.index("and") + 1 :]) if fraction else 0)
    spoken = [c for c in value.children if not (isinstance(c, Tree) and c.data == "age_unit")]
    return small_number(Tree("n", spoken))


def _age_corrected(node: Node, day: date | None) -> list[Content]:
    last = children(node)[-1]
    if last.data == "status":
        return [Command(CommandName.CHANGE), Pregnancy(named(last, PregnancyStatus))]
    return [Command(CommandName.CHANGE), *_age(last, day)]


PREGNANCY: Readers = {
    "pregnancy": _pregnancy,
    "horn_pregnancy": _horn_pregnancy,
    "gravid_pregnancy": _gravid_pregnancy,
    "bred_pregnant": _bred_pregnant,
    "confirmed": _confirmed,
    "about_age_alone": _about_age_alone,
    "dry_open": lambda _, __: [Pregnancy(PregnancyStatus.OPEN)],
    "gravid_side": _gravid_side,
    "age": _age,
    "about_age": _age,
    "age_slip": _age,
    "age_corrected": _age_corrected,
}
