"""In calf or not, and the age of the pregnancy."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

from lark import Tree

from grammar.findings import Pregnancy, PregnancyStatus, StatedAs
from grammar.numbers import cardinal, words_of
from grammar.statements.items import Age, Content, GravidSide, Place, Readers
from grammar.statements.places import side_place, spoken_side, uterus_place
from grammar.statements.sizes import small_number
from grammar.statements.tree import Node, child, children, named
from grammar.statements.units import DAYS_IN_MONTH, DAYS_IN_WEEK


def _pregnancy(node: Node, visit_date: date | None) -> list[Content]:
    if node.data == "horn_pregnancy":
        side = spoken_side(child(node, "side"))
        return [Pregnancy(PregnancyStatus.PREGNANT, side=side)]
    status = named(child(node, "status"), PregnancyStatus)
    assert status is not None
    out: list[Content] = [Pregnancy(status)]
    for part in children(node):
        if str(part.data) in {"gravid_side", "uterus_place", "side_place"}:
            place = _GRAVID[str(part.data)](part, visit_date)[0]
            side = place.side if isinstance(place, Place | GravidSide) else None
            out = [Pregnancy(status, side=side)]
        elif str(part.data) in {"age_bare", "about_age_bare", "age_bare_range"}:
            out.append(_age_bare(part))
    return out


def gravid_side(node: Node, _: date | None) -> list[Content]:
    """The horn that carries."""
    side = spoken_side(child(node, "side"))
    assert side is not None
    return [GravidSide(side)]


_GRAVID: Readers = {
    "uterus_place": uterus_place,
    "side_place": side_place,
    "gravid_side": gravid_side,
}


def _age_bare(node: Node) -> Age:
    numbers = [cardinal(words_of(n)) for n in children(node, "n_age")]
    upper = numbers[1] if node.data == "age_bare_range" else None
    return Age(numbers[0], upper, upper is not None or node.data == "about_age_bare", None)


def _age(node: Node, _: date | None) -> list[Content]:
    about = node.data == "about_age" or child(node, "approximately_after") is not None
    value = next(c for c in children(node) if str(c.data) in _AGE_VALUES)
    if value.data == "age_month":
        return [Age(DAYS_IN_MONTH, None, about, StatedAs.MONTHS)]
    unit_node = child(value, "age_unit")
    unit = named(unit_node, StatedAs) if unit_node is not None else StatedAs.DAYS
    if value.data == "age_ish" and unit_node is None:
        unit = None
    factor = {StatedAs.WEEKS: DAYS_IN_WEEK, StatedAs.MONTHS: DAYS_IN_MONTH}.get(
        unit or StatedAs.DAYS, 1
    )
    numbers = [cardinal(words_of(n)) for n in children(value, "n_age")]
    amount = _AGE_VALUES[str(value.data)](value, numbers)
    if value.data == "age_weeks_days":
        return [Age(numbers[0] * DAYS_IN_WEEK + numbers[1], None, about, StatedAs.DAYS)]
    upper = numbers[1] * factor if value.data in {"age_range", "age_pair"} else None
    about = about or upper is not None or value.data == "age_ish"
    pair = value.data == "age_pair"
    return [Age(_whole_days(amount * factor), upper, about, unit, pair)]


def _whole_days(days: float) -> int:
    """Whole days, halves up: six and a half weeks is 46 days."""
    return int(days + 0.5)


_AGE_VALUES: dict[str, Callable[[Node, list[int]], float]] = {
    "age_one": lambda _, n: float(n[0]),
    "age_range": lambda _, n: float(n[0]),
    "age_pair": lambda _, n: float(n[0]),
    "age_weeks_days": lambda _, n: float(n[0]),
    "age_month": lambda _, __: 1.0,
    "age_and_half": lambda _, n: n[0] + 0.5,
    "age_decimal": lambda v, _: float(next(w for w in words_of(v) if "." in w)),
    "age_point": lambda v, _: small_number(
        Tree("n", [c for c in v.children if not (isinstance(c, Tree) and c.data == "age_unit")])
    ),
    "age_ish": lambda _, n: float(n[0]),
    "age_one_day": lambda _, n: float(n[0]),
}


PREGNANCY: Readers = {
    "pregnancy": _pregnancy,
    "horn_pregnancy": _pregnancy,
    "dry_open": lambda _, __: [Pregnancy(PregnancyStatus.OPEN)],
    "gravid_side": gravid_side,
    "age": _age,
    "about_age": _age,
}
