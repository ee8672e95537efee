"""Sizes and depths in millimetres."""

from __future__ import annotations

from grammar.numbers import MM_IN_CM, MM_IN_INCH, cardinal, fraction, part_of_one, words_of
from grammar.statements.items import Node, child, children


def small_number(node: Node) -> float:
    """A number with a decimal part or a fraction: "two point four", "two and a half", "half an"."""
    words = words_of(node)
    if "point" in words:
        at = words.index("point")
        return cardinal(words[:at]) + fraction(words[at + 1 :])
    part = part_of_one(words[words.index("and") + 1 :] if "and" in words else words)
    if part:
        before = words[: words.index("and")] if "and" in words else ["oh"]
        return (cardinal(before) if before else 1) + part  # "inch and a half"
    if words == ["an"]:
        return 1.0
    if len(words) == 1 and "." in words[0]:
        return float(words[0])
    return float(cardinal(words))


def millimetres(number: float, unit: Node | None) -> float:
    """A number in millimetres, taken as such where no unit was said."""
    named = "" if unit is None else str(children(unit)[0].data)
    return round(number * {"centimetres": MM_IN_CM, "inches": MM_IN_INCH}.get(named, 1), 2)


def sizes(node: Node) -> tuple[float, float | None, bool]:
    """Size, second size, whether the unit was assumed, of an ovary_size in any of its forms."""
    numbers = [small_number(n) for n in children(node, "small_size")]
    units = children(node, "size_unit")
    if node.data == "two_axes":
        unit = units[0] if units else None
        return millimetres(numbers[0], unit), millimetres(numbers[1], unit), unit is None
    # of "twenty, sorry, twenty-four" the last counts, with the unit said last
    unit = units[-1] if units else None
    return millimetres(numbers[-1], unit), None, unit is None


SIZE_RULES = {"ovary_size", "two_axes", "size_slip"}


def said_size(node: Node) -> Node | None:
    """The size under a detail, said with or without a word before it ("measuring twenty")."""
    if node.data == "size_said":
        return next(c for c in children(node) if c.data in SIZE_RULES)
    return node if node.data in SIZE_RULES else None


def optional_mm(node: Node) -> tuple[float | None, bool]:
    """Size in millimetres under a node if one was said, and whether its unit was assumed."""
    number = child(node, "small_size")
    if number is None:
        return None, False
    unit = child(node, "size_unit")
    return millimetres(small_number(number), unit), unit is None
