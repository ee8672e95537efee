"""Reading the nodes of a parse tree."""

from __future__ import annotations

from enum import StrEnum
from typing import TypeVar

from lark import Token, Tree

Node = Tree[Token]
_E = TypeVar("_E", bound=StrEnum)


def children(node: Node, name: str | None = None) -> list[Node]:
    """Child nodes, of one rule if ``name`` is given."""
    return [c for c in node.children if isinstance(c, Tree) and (name is None or c.data == name)]


def child(node: Node, name: str) -> Node | None:
    """The child of that rule, if there is one."""
    return next(iter(children(node, name)), None)


def named(node: Node | None, kind: type[_E]) -> _E | None:
    """The enum member that names the only child of a choice rule."""
    return None if node is None else kind(str(children(node)[0].data))
