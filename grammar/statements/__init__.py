"""Statements of a breath, read off the parse tree: one file a family of rules of exam.lark.

In: a node of the tree. Out: items, that is findings that may still lack a side or an age, and the
places and ages that belong to them. Putting them together is the work of ``grammar.breath``.
"""

from __future__ import annotations

from datetime import date

from grammar.statements.commands import COMMANDS
from grammar.statements.conceptus import CONCEPTUS
from grammar.statements.items import Item, Node, Readers
from grammar.statements.ovaries_and_uterus import STRUCTURES
from grammar.statements.places import PLACES
from grammar.statements.plans import PLANS
from grammar.statements.pregnancy import PREGNANCY

READERS: Readers = {**PLACES, **STRUCTURES, **PREGNANCY, **CONCEPTUS, **PLANS, **COMMANDS}


def items_of(node: Node, visit_date: date | None) -> list[Item]:
    """Items of one statement or command. Raises UnresolvedDateError."""
    start, end = int(node.meta.start_pos), int(node.meta.end_pos)
    return [Item(content, start, end) for content in READERS[str(node.data)](node, visit_date)]
