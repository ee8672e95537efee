"""A grammar text as expressions: what lark's own loader reads, made ready for the automaton.

The dialect is lark's as far as exam.lark uses it: rules, terminals, strings, regular expressions,
groups, ``|``, ``?``, ``*``, ``+``, aliases, and the mark ``?`` before a rule's name.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
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
    """So many times: at least none or once, at most once or without end."""

    part: Expression
    least: int
    endless: bool


@dataclass(frozen=True, slots=True)
class Branch:
    """A node of the tree of a phrase. ``melts``: it is its child, where it has a single one."""

    part: Expression
    data: str
    melts: bool


Expression = Symbol | Name | Then | Either | Times | Branch
_TIMES = {"?": (0, False), "*": (0, True), "+": (1, True)}
_SIGNS = {times: sign for sign, times in _TIMES.items()}
_TO_PATTERN = PrepareLiterals() * TerminalTreeToPattern()


@dataclass(frozen=True, slots=True)
class Rules:
    """Rules by name, and the regular expression of each terminal."""

    named: Mapping[str, Expression]
    terminals: Mapping[str, str]

    def reached(self, start: str) -> tuple[str, ...]:
        """Names of the terminals that a rule leads to, as they are met.

        Raises ValueError where a rule is not defined or contains itself.
        """
        found: dict[str, None] = {}
        done: set[str] = set()
        self._visit(start, found, done, ())
        return tuple(found)

    def _visit(
        self, name: str, found: dict[str, None], done: set[str], above: tuple[str, ...]
    ) -> None:
        if name in above:
            raise ValueError(f"the rule '{name}' contains itself")
        if name in done:
            return
        if name not in self.named:
            raise ValueError(f"'{name}' is not defined")
        for leaf in _leaves(self.named[name]):
            if isinstance(leaf, Name):
                self._visit(leaf.name, found, done, (*above, name))
            elif isinstance(leaf.read, str):
                found[leaf.read] = None
        done.add(name)

    def __str__(self) -> str:
        """The grammar as lark text, without what shapes the tree."""
        rules = (f"{name}: {text_of(each)}\n" for name, each in self.named.items())
        named = ((n, p.replace("/", r"\/")) for n, p in self.terminals.items() if n[0].isalpha())
        return "".join((*rules, *(f"{name}: /{pattern}/\n" for name, pattern in named)))


def read_rules(text: str, elsewhere: Iterable[str] = ()) -> Rules:
    """The rules of a grammar text; ``elsewhere``: names of rules that are made otherwise.

    Raises ValueError where it cannot be read.
    """
    declared = "".join(f"%declare {name}\n" for name in elsewhere)
    try:
        grammar, _ = load_grammar(
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
    """Alternatives of a rule, each the branch that it makes."""
    branches: list[Expression] = []
    for option in tree.children:
        part, alias = option.children if option.data == "alias" else (option, None)
        read = _expression(part, terminals)
        data, kept = (rule, melts) if alias is None else (alias.name, False)
        branches.append(Branch(read, str(data), kept))
    return any_of(branches)


def _expression(tree: Any, terminals: dict[str, str]) -> Expression:
    if tree.data == "value":
        return _value(tree.children[0], terminals)
    if tree.data == "expr" and tree.children[1] in _TIMES:
        part, sign = tree.children
        return Times(_expression(part, terminals), *_TIMES[sign])
    if tree.data not in {"expansion", "expansions"}:
        raise ValueError(f"'{tree.data}' is not supported here")
    parts = [_expression(child, terminals) for child in tree.children]
    return in_a_row(*parts) if tree.data == "expansion" else any_of(parts)


def _value(symbol: Any, terminals: dict[str, str]) -> Expression:
    if not isinstance(symbol, Tree):
        return Symbol(symbol.name) if symbol.is_term else Name(symbol.name)
    source = str(symbol.children[0])
    if source not in terminals:
        terminals[source] = _regex(symbol)
    return Symbol(source)


def _leaves(expression: Expression) -> Iterator[Symbol | Name]:
    match expression:
        case Symbol() | Name():
            yield expression
        case Then(parts) | Either(parts):
            for part in parts:
                yield from _leaves(part)
        case Times(part) | Branch(part):
            yield from _leaves(part)


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
            return " ".join(
                f"({text_of(p)})" if isinstance(p, Either) else text_of(p) for p in parts
            )
        case Times(part, least, endless):
            return f"({text_of(part)}){_SIGNS[least, endless]}"


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
