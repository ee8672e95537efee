"""Reads a constraint: the grammar text that ``grammar.constraint`` writes, as expressions.

The dialect is lark's, as far as exam.lark uses it: rules, terminals, strings, regular expressions
without look-around, groups, ``|``, ``?``, ``*``, ``+``. Aliases and the marks before a rule's name
shape lark's tree and mean nothing here.
"""

from __future__ import annotations

import re
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Bytes:
    """One byte out of several."""

    any_of: frozenset[int]


@dataclass(frozen=True, slots=True)
class Name:
    """A rule or terminal, by name."""

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
class Literal:
    """A terminal without a name: a string or a regular expression inside a rule."""

    spelled: Expression


Expression = Bytes | Name | Then | Either | Times | Literal

_DEFINITION = re.compile(r"^[?!]?(\w+)(?:\.\d+)?\s*:", re.MULTILINE)
_PIECE = re.compile(
    r'\s+|//[^\n]*|->\s*\w+|(?P<string>"(?:\\.|[^"\\])*")|(?P<regex>/(?:\\.|[^/\\])+/)'
    r"|(?P<name>\w+)|(?P<sign>[()|?*+])"
)
_PLAIN = re.compile(r"(?:[^\\\[\](){}.?*+^$]|\\[^\w])*")
_ESCAPED = re.compile(r"\\(.)")
_TIMES = {"?": (0, False), "*": (0, True), "+": (1, True)}


def is_terminal(name: str) -> bool:
    """Whether a name is a terminal's: all in capitals."""
    return name.isupper()


def read_constraint(text: str) -> dict[str, Expression]:
    """Rules and terminals by name. Raises ValueError, saying where, for what cannot be read."""
    starts = list(_DEFINITION.finditer(text))
    ends = [*(m.start() for m in starts[1:]), len(text)]
    definitions: dict[str, Expression] = {}
    for match, end in zip(starts, ends, strict=True):
        name = match[1]
        definitions[name] = _Body(text[match.end() : end], name).read()
    return definitions


class _Body:
    """What stands behind the colon of one definition."""

    def __init__(self, text: str, name: str) -> None:
        self._pieces: list[tuple[str, str]] = []
        self._at = 0
        self._in_terminal = is_terminal(name)
        at = 0
        while at < len(text):
            match = _PIECE.match(text, at)
            if match is None:
                raise ValueError(f"'{name}' cannot be read at '{text[at : at + 20]}'")
            if match.lastgroup is not None:
                self._pieces.append((match.lastgroup, match[0]))
            at = match.end()
        self._name = name

    def read(self) -> Expression:
        """The whole body."""
        read = self._either()
        if self._at < len(self._pieces):
            raise ValueError(f"'{self._name}' has a ')' too many")
        return read

    def _peek(self) -> tuple[str, str]:
        return self._pieces[self._at] if self._at < len(self._pieces) else ("end", "")

    def _either(self) -> Expression:
        options = [self._then()]
        while self._peek() == ("sign", "|"):
            self._at += 1
            options.append(self._then())
        return options[0] if len(options) == 1 else Either(tuple(options))

    def _then(self) -> Expression:
        parts: list[Expression] = []
        while True:
            kind, text = self._peek()
            if kind == "end" or text in {"|", ")"}:
                return parts[0] if len(parts) == 1 else Then(tuple(parts))
            self._at += 1
            parts.append(self._item(kind, text))

    def _item(self, kind: str, text: str) -> Expression:
        match kind:
            case "name":
                item: Expression = Name(text)
            case "string":
                item = self._spelled(_word(_ESCAPED.sub(r"\1", text[1:-1])))
            case "regex":
                item = self._spelled(read_regex(text[1:-1]))
            case _:
                item = self._group(text)
        while self._peek()[1] in _TIMES and self._peek()[0] == "sign":
            item = Times(item, *_TIMES[self._peek()[1]])
            self._at += 1
        return item

    def _spelled(self, expression: Expression) -> Expression:
        return expression if self._in_terminal else Literal(expression)

    def _group(self, text: str) -> Expression:
        if text != "(":
            raise ValueError(f"'{self._name}' has a '{text}' behind nothing")
        inner = self._either()
        if self._peek() != ("sign", ")"):
            raise ValueError(f"'{self._name}' lacks a ')'")
        self._at += 1
        return inner


def _word(text: str) -> Expression:
    return Then(tuple(Bytes(frozenset({byte})) for byte in text.encode()))


def read_regex(text: str) -> Expression:
    """A regular expression over bytes. Raises ValueError for what is not supported."""
    if _PLAIN.fullmatch(text):
        words = [_word(_ESCAPED.sub(r"\1", option)) for option in text.split("|")]
        return words[0] if len(words) == 1 else Either(tuple(words))
    return _Regex(text).read()


class _Regex:
    """Letters, escapes, classes, groups, ``|``, ``?``, ``*``, ``+`` and ``{m,n}``."""

    def __init__(self, text: str) -> None:
        self._text = text
        self._at = 0

    def read(self) -> Expression:
        """The whole of it."""
        read = self._either()
        if self._at < len(self._text):
            raise self._wrong()
        return read

    def _wrong(self) -> ValueError:
        return ValueError(f"the regular expression /{self._text}/ is not supported here")

    def _take(self, wanted: str) -> bool:
        found = self._text.startswith(wanted, self._at)
        self._at += len(wanted) if found else 0
        return found

    def _either(self) -> Expression:
        options = [self._then()]
        while self._take("|"):
            options.append(self._then())
        return options[0] if len(options) == 1 else Either(tuple(options))

    def _then(self) -> Expression:
        parts: list[Expression] = []
        while self._at < len(self._text) and self._text[self._at] not in "|)":
            parts.append(self._repeated(self._one()))
        return parts[0] if len(parts) == 1 else Then(tuple(parts))

    def _one(self) -> Expression:
        if self._take("("):
            self._take("?:")
            inner = self._either()
            if not self._take(")"):
                raise self._wrong()
            return inner
        if self._take("["):
            return self._class()
        char = self._text[self._at]
        if char in ".^$?*+{":
            raise self._wrong()
        self._at += 1
        return _word(self._escape() if char == "\\" else char)

    def _escape(self) -> str:
        char = self._text[self._at : self._at + 1]
        if not char or char.isalnum():
            raise self._wrong()
        self._at += 1
        return char

    def _class(self) -> Expression:
        chars: set[int] = set()
        while not self._take("]"):
            low = self._in_class()
            # A hyphen before the bracket is a hyphen.
            last = self._text.startswith("-]", self._at)
            high = self._in_class() if not last and self._take("-") else low
            chars.update(range(low, high + 1))
        return Bytes(frozenset(chars))

    def _in_class(self) -> int:
        char = self._text[self._at : self._at + 1]
        if not char or not char.isascii() or char == "^":
            raise self._wrong()
        self._at += 1
        return ord(self._escape() if char == "\\" else char)

    def _repeated(self, part: Expression) -> Expression:
        while self._at < len(self._text):
            char = self._text[self._at]
            if char in _TIMES:
                self._at += 1
                part = Times(part, *_TIMES[char])
            elif counted := re.compile(r"\{(\d+)(?:,(\d+))?\}").match(self._text, self._at):
                self._at = counted.end()
                part = _counted(part, int(counted[1]), int(counted[2] or counted[1]))
            else:
                break
        return part


def _counted(part: Expression, least: int, most: int) -> Expression:
    return Then((part,) * least + (Times(part, 0, endless=False),) * (most - least))
