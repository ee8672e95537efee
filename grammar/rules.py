"""A grammar text as expressions: what lark's own loader reads, made ready for the automaton.

The dialect is lark's as far as exam.lark uses it: rules, terminals, strings, regular expressions,
groups, ``|``, ``?``, ``*``, ``+``, aliases, and the marks ``?`` and ``_`` before a rule's name.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from graphlib import CycleError, TopologicalSorter
from typing import Any

from lark import Tree
from lark.exceptions import LarkError
from lark.load_grammar import PrepareLiterals, TerminalTreeToPattern, load_grammar


@dataclass(frozen=True, slots=True)
class Symbol:
    """What is read in one step: a terminal by its name, or one byte out of several.

    A terminal without a name has the text in which the grammar writes it: ``"left"``.
    """

    read: str | frozenset[int]


@dataclass(frozen=True, slots=True)
class Name:
    """A rule, by name."""

    name: str


@dataclass(frozen=True, slots=True)
class Then:
    """One after the other; of none of them, nothing."""

    parts: tuple[Expression, ...]


@dataclass(frozen=True, slots=True)
class Either:
    """One of several."""

    parts: tuple[Expression, ...]


@dataclass(frozen=True, slots=True)
class Times:
    """None or once, or any number of times."""

    part: Expression
    endless: bool = False


@dataclass(frozen=True, slots=True)
class Branch:
    """A node of the tree of a phrase. ``melts``: it is its child, where it has a single one."""

    part: Expression
    data: str
    melts: bool


Expression = Symbol | Name | Then | Either | Times | Branch
_TO_PATTERN = PrepareLiterals() * TerminalTreeToPattern()


@dataclass(frozen=True, slots=True)
class Rules:
    """Rules by name, and the regular expression of each terminal."""

    named: Mapping[str, Expression]
    terminals: Mapping[str, str]

    def __post_init__(self) -> None:
        """Raises ValueError for a rule that contains itself."""
        try:
            TopologicalSorter({n: names_in(e) for n, e in self.named.items()}).prepare()
        except CycleError as error:
            raise ValueError(f"the rule '{error.args[1][0]}' contains itself") from error


def read_rules(text: str, elsewhere: Iterable[str] = ()) -> Rules:
    """The rules of a grammar text; ``elsewhere``: names of rules that are made otherwise.

    Raises ValueError where it cannot be read.
    """
    declared = "".join(f"%declare {name}\n" for name in elsewhere)
    try:
        grammar, _ = load_grammar(  # type: ignore[no-untyped-call]
            f"{text}\n{declared}", "the grammar", [], global_keep_all_tokens=True
        )
    except LarkError as error:
        raise ValueError(str(error).splitlines()[0]) from error
    terminals = {name: _regex(tree) for name, (tree, _) in grammar.term_defs}
    named = {
        name: _body(tree, name, options.expand1, terminals)
        for name, _, tree, options in grammar.rule_defs
        if tree is not None
    }
    return Rules(named, terminals)


def _regex(tree: Any) -> str:
    try:
        return str(_TO_PATTERN.transform(tree).to_regexp())
    except LarkError as error:
        raise ValueError(str(error).splitlines()[0]) from error


def _body(tree: Any, rule: str, melts: bool, terminals: dict[str, str]) -> Expression:
    """Alternatives of a rule, each the branch that it makes; a rule called ``_...`` makes none."""
    branches: list[Expression] = []
    for option in tree.children:
        part, alias = option.children if option.data == "alias" else (option, None)
        read = _expression(part, terminals)
        data, kept = (rule, melts) if alias is None else (alias.name, False)
        branches.append(read if data.startswith("_") else Branch(read, str(data), kept))
    return any_of(branches)


def _expression(tree: Any, terminals: dict[str, str]) -> Expression:
    match str(tree.data), tree.children:
        case "expansion", parts:
            return in_a_row(*(_expression(part, terminals) for part in parts))
        case "expansions", parts:
            return any_of(_expression(part, terminals) for part in parts)
        case "expr", [inner, sign] if sign in {"?", "*", "+"}:
            part = _expression(inner, terminals)
            times = Times(part, endless=sign != "?")
            return in_a_row(part, times) if sign == "+" else times
        case "value", [Tree() as literal]:
            source = str(literal.children[0])
            terminals.setdefault(source, _regex(literal))
            return Symbol(source)
        case "value", [symbol]:
            return Symbol(symbol.name) if symbol.is_term else Name(symbol.name)
    raise ValueError(f"'{tree.data}' is not supported here")


def names_in(expression: Expression) -> tuple[str, ...]:
    """The rules that an expression names, each once and in its order."""
    match expression:
        case Name(name):
            return (name,)
        case Then(parts) | Either(parts):
            return tuple(dict.fromkeys(name for part in parts for name in names_in(part)))
        case Times(part) | Branch(part):
            return names_in(part)
    return ()


def text_of(expression: Expression) -> str:
    """An expression as lark writes it."""
    match expression:
        case Symbol(read):
            return str(read)
        case Name(name):
            return name
        case Branch(part):
            return text_of(part)
        case Either(parts):
            return " | ".join(map(text_of, parts))
        case Then(parts):
            bracketed = (f"({text_of(p)})" if isinstance(p, Either) else text_of(p) for p in parts)
            return " ".join(bracketed)
        case Times(part, endless):
            return f"({text_of(part)})" + ("*" if endless else "?")


def in_a_row(*parts: Expression) -> Expression:
    """Expressions one after the other, with no bracket in a bracket."""
    flat: list[Expression] = []
    for part in parts:
        flat += part.parts if isinstance(part, Then) else (part,)
    return flat[0] if len(flat) == 1 else Then(tuple(flat))


def any_of(parts: Iterable[Expression]) -> Expression:
    """One of these, of which there is at least one."""
    options = tuple(parts)
    return options[0] if len(options) == 1 else Either(options)
