"""The rules of exam.lark as spoken words: what a phonetic recogniser can be made to listen for.

The same language as the parser reads, numerals and free notes left out: such a recogniser writes
words only. Read from the grammar's own text; nothing here is a second grammar.
"""

from __future__ import annotations

import re
from collections.abc import Container, Iterator
from dataclasses import dataclass

from grammar.language import grammar_text

_TOKEN = re.compile(r'\s*(?:(->\s*\w+)|("[^"]*")|(\w+)|([|()\[\]?*+]))')
_RULE = re.compile(r"^[?!]?([a-z_0-9]+):(.*)$")
_SPACES = frozenset({"SP", "gap"})
"""Written spaces; speech has none."""


@dataclass(frozen=True, slots=True)
class Word:
    """One spoken word."""

    word: str


@dataclass(frozen=True, slots=True)
class Rule:
    """What another rule says."""

    name: str


@dataclass(frozen=True, slots=True)
class Sequence:
    """One after the other; empty says nothing."""

    parts: tuple[Spoken, ...]


@dataclass(frozen=True, slots=True)
class Choice:
    """One of these."""

    options: tuple[Spoken, ...]


@dataclass(frozen=True, slots=True)
class Again:
    """Any number of times, none included."""

    part: Spoken


Spoken = Word | Rule | Sequence | Choice | Again
NOTHING = Sequence(())


def spoken_rules(text: str | None = None) -> dict[str, Spoken]:
    """Rule name to what it says. A rule that only writes numerals falls away, and what needs it."""
    written = _rules(grammar_text() if text is None else text)
    known = dict.fromkeys(written)
    while True:
        bodies = {name: _Body(written[name], known).choice() for name in known}
        kept = {name: body for name, body in bodies.items() if body is not None}
        if len(kept) == len(known):
            return kept
        known = dict.fromkeys(kept)


def _rules(text: str) -> dict[str, str]:
    """Rule name to its body on one line; terminals left out."""
    rules: dict[str, str] = {}
    name = ""
    for line in text.splitlines():
        begins = _RULE.match(line)
        if begins is not None:
            name = begins.group(1)
            rules[name] = begins.group(2)
        elif line.strip().startswith("|") and name:
            rules[name] += " " + line.strip()
        elif line.strip():
            name = ""
    return {name: body for name, body in rules.items() if name not in _SPACES}


class _Body:
    """One rule's right side, read by descent. None stands for what cannot be spoken."""

    def __init__(self, text: str, known: Container[str]) -> None:
        self._tokens = list(_tokens(text))
        self._known = known
        self._at = 0

    def choice(self) -> Spoken | None:
        """Alternatives up to the end of the body or of a bracket."""
        options = [self._sequence()]
        while self._peek() == "|":
            self._at += 1
            options.append(self._sequence())
        kept = tuple(dict.fromkeys(o for o in options if o is not None))
        if len(kept) > 1:
            return Choice(kept)
        return kept[0] if kept else None

    def _sequence(self) -> Spoken | None:
        parts: list[Spoken | None] = []
        while self._peek() not in {"|", ")", "]", ""}:
            part = self._item()
            if self._peek() in {"?", "*", "+"}:
                part = _repeated(part, self._take())
            parts.append(part)
        said = tuple(p for p in parts if p is not None and p != NOTHING)
        if len(said) < len(parts) and None in parts:
            return None
        return said[0] if len(said) == 1 else Sequence(said)

    def _item(self) -> Spoken | None:
        token = self._take()
        if token in {"(", "["}:
            inner = self.choice()
            self._take()
            return _repeated(inner, "?") if token == "[" else inner
        if token.startswith('"'):
            return Word(token.strip('"'))
        if token in _SPACES:
            return NOTHING
        return Rule(token) if token in self._known else None

    def _peek(self) -> str:
        return self._tokens[self._at] if self._at < len(self._tokens) else ""

    def _take(self) -> str:
        self._at += 1
        return self._tokens[self._at - 1]


def _repeated(part: Spoken | None, mark: str) -> Spoken | None:
    if mark == "+":
        return None if part is None else Sequence((part, Again(part)))
    if part is None:
        return NOTHING
    return Choice((NOTHING, part)) if mark == "?" else Again(part)


def _tokens(text: str) -> Iterator[str]:
    for alias, literal, name, mark in _TOKEN.findall(text):
        if not alias:
            yield literal or name or mark
