"""Slips of the tongue: what is said behind "sorry" takes the place of what was said before it."""

from __future__ import annotations

from grammar.findings import Finding, Pregnancy
from grammar.statements.items import Age, GravidSide, Item, Place

_OF_A_PREGNANCY = (Age, GravidSide)


def without_slips(items: list[Item]) -> list[Item] | None:
    """The items that were meant. None where it is not plain what "sorry" takes back.

    "Pregnant forty days, sorry, open" takes back the pregnancy with its age; "left ovary, sorry,
    right ovary" the place; otherwise a piece takes back only the piece before, of its own kind.
    """
    meant: list[Item] = []
    for item in items:
        if item.corrects and not _take_back(meant, item):
            return None
        meant.append(item)
    return meant


def _take_back(meant: list[Item], item: Item) -> bool:
    kept = len(meant)
    if isinstance(item.content, Pregnancy):
        while kept and isinstance(meant[kept - 1].content, _OF_A_PREGNANCY):
            kept -= 1
    if not kept or type(meant[kept - 1].content) is not type(item.content):
        return False
    if not isinstance(item.content, Finding | Age | Place):
        return False
    del meant[kept - 1 :]
    return True
