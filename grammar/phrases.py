"""All readings of a normalised phrase: the paths of its words through the automaton, as trees."""

from __future__ import annotations

import itertools
import re
import threading
from collections.abc import Iterator
from functools import lru_cache

from lark import Token, Tree
from lark.tree import Meta

from grammar.automaton import BEGINS, NOWHERE, Automaton, Mark
from grammar.findings import Unread
from grammar.language import exam_language
from grammar.rules import Name, Symbol
from grammar.vocabulary import Vocabulary

# More trees than this for one phrase means a grammar to mend; the reading is then marked unread
# rather than cut short in silence. Effect of raising it: slower answers, no other.
MOST_TREES = 64
# One breath is read several times over: by the recogniser, to tell hearings of other values apart,
# and by the session, with the date of the visit.
PHRASES_KEPT = 64
STEPS_KEPT = 4_096
"""Of a morning's phrases most steps were met before."""
_NOTE_WORDS = frozenset({"note", "remark", "comment"})
_NOTE, _SPACE, _END = "NOTE_TEXT", "SP", ""

ParseTree = Tree[Token]
#: The nodes behind a symbol, and for each of them those before it.
_Step = tuple[tuple[int, ...], dict[int, list[int]]]
#: What begins and ends before each symbol.
_Path = tuple[tuple[Mark, ...], ...]


class PhraseParser:
    """Reads normalised phrases with one vocabulary. Safe to share between threads."""

    def __init__(self, vocabulary: Vocabulary) -> None:
        rules = exam_language(vocabulary)
        self._words = {name[1:-1]: name for name in rules.terminals if name.startswith('"')}
        self._numerals = [
            (re.compile(pattern), name)
            for name, pattern in rules.terminals.items()
            if name.isupper() and name not in {_NOTE, _SPACE}
        ]
        self._lock = threading.Lock()
        self._automaton = Automaton(rules.named, marked=True)
        end = self._automaton.of(Symbol(_END), NOWHERE)
        self._start = self._automaton.of(Name("start"), end)
        self._step = lru_cache(STEPS_KEPT)(self._stepped)
        self._kept = lru_cache(PHRASES_KEPT)(self._trees)

    def trees(self, normal: str) -> tuple[ParseTree, ...] | Unread:
        """Every tree of a phrase, or where it cannot be read; no more than one over MOST_TREES.

        Not to be changed: the trees of the last phrases are kept.
        """
        return self._kept(normal)

    def next_words(self, normal: str) -> tuple[str, ...]:
        """Words that may follow a normalised phrase, or begin one; () where it cannot be read.

        Numerals are left out: there are too many to offer.
        """
        tokens = self._tokens(normal) if normal else []
        if isinstance(tokens, Unread):
            return ()
        names = [*(token.type for token in tokens), *([_SPACE] if tokens else [])]
        with self._lock:
            reached = self._reached(names)
            behind = reached[-1][0] if len(reached) > len(names) else ()
            first = frozenset().union(*(self._automaton.first(node) for node in behind))
        return tuple(sorted(word for word, name in self._words.items() if name in first))

    def _trees(self, normal: str) -> tuple[ParseTree, ...] | Unread:
        tokens = self._tokens(normal)
        if isinstance(tokens, Unread):
            return tokens
        names = [*(token.type for token in tokens), _END]
        with self._lock:
            reached = self._reached(names)
            if len(reached) == len(names):
                return Unread(len(normal), "the phrase stops in the middle.")
            if len(reached) < len(names):
                token = tokens[len(reached) - 1]
                at = token.start_pos or 0
                return Unread(at, f"'{_word_at(normal, at)}' does not fit here.")
            paths = self._paths(names, _leading_on(reached), 0, self._start)
            few = itertools.islice(paths, MOST_TREES + 1)
            return tuple(_tree(tokens, path) for path in few)

    def _tokens(self, text: str) -> list[Token] | Unread:
        """Words and spaces of a phrase, or the first word that is in no rule."""
        tokens: list[Token] = []
        at = 0
        for word in text.split(" "):
            if tokens:
                tokens.append(_token(_SPACE, " ", at - 1))
            if word in _NOTE_WORDS and at + len(word) < len(text):
                return [*tokens, _token(_NOTE, text[at:], at)]
            name = self._words.get(word) or self._numeral(word)
            if name is None:
                return Unread(at, f"'{word}' is no word of the exam language.")
            tokens.append(_token(name, word, at))
            at += len(word) + 1
        return tokens

    def _numeral(self, word: str) -> str | None:
        return next((n for pattern, n in self._numerals if pattern.fullmatch(word)), None)

    def _reached(self, names: list[str]) -> list[_Step]:
        """The steps over each symbol, up to the first over which none leads."""
        steps: list[_Step] = [((self._start,), {})]
        for name in names:
            step = self._step(steps[-1][0], name)
            if not step[0]:
                break
            steps.append(step)
        return steps

    def _stepped(self, nodes: tuple[int, ...], name: str) -> _Step:
        before: dict[int, list[int]] = {}
        for node in nodes:
            for _, behind in self._automaton.ways(node, name):
                before.setdefault(behind, []).append(node)
        return tuple(before), before

    def _paths(
        self, names: list[str], leading: list[set[int]], at: int, node: int
    ) -> Iterator[_Path]:
        """The marks before each symbol, along every path; in the order of the rules."""
        if at == len(names):
            yield ()
            return
        for marks, behind in self._automaton.ways(node, names[at]):
            if behind in leading[at + 1]:
                for rest in self._paths(names, leading, at + 1, behind):
                    yield (marks, *rest)


def _leading_on(steps: list[_Step]) -> list[set[int]]:
    """Of the nodes reached before each symbol, those from which all that follows is read."""
    leading = [set(steps[-1][0])]
    for _, before in steps[:0:-1]:
        leading.append({node for behind in leading[-1] for node in before[behind]})
    return leading[::-1]


def _tree(tokens: list[Token], path: _Path) -> ParseTree:
    """The tree of a path: its marks are brackets around the words."""
    open_: list[list[Token | ParseTree]] = [[]]
    for marks, token in itertools.zip_longest(path, tokens):
        for mark in marks:
            if mark is BEGINS:
                open_.append([])
                continue
            data, melts = mark
            children = open_.pop()
            melted = melts and len(children) == 1
            open_[-1].append(children[0] if melted else Tree(data, children, _span(children)))
        if token is not None:
            open_[-1].append(token)
    whole = open_[0][0]
    assert isinstance(whole, Tree)
    return whole


def _span(children: list[Token | ParseTree]) -> Meta:
    first, last = children[0], children[-1]
    span = Meta()  # type: ignore[no-untyped-call]
    span.start_pos = (first if isinstance(first, Token) else first.meta).start_pos or 0
    span.end_pos = (last if isinstance(last, Token) else last.meta).end_pos or 0
    span.empty = False
    return span


def _token(name: str, value: str, at: int) -> Token:
    return Token(name, value, start_pos=at, end_pos=at + len(value))


def _word_at(text: str, at: int) -> str:
    start = at + 1 if text[at : at + 1] == " " else at
    return text[start:].split(" ", 1)[0] or text[at:]
