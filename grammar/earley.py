"""All readings of a normalised phrase: lark's Earley parser with whole words as tokens.

Two things make it fast enough for a list of hypotheses within one breath: every word is one token
(no token can be read in two ways), and a rule is only predicted where the next word can begin it.
The second uses the parser's prediction table, which is why lark is pinned.
"""

from __future__ import annotations

import re
import threading
from collections.abc import Iterator
from functools import lru_cache
from typing import Any

from lark import Lark, Token, Tree
from lark.common import LexerConf
from lark.exceptions import UnexpectedEOF, UnexpectedInput, UnexpectedToken
from lark.lexer import Lexer, PatternStr

from grammar.findings import Unread
from grammar.language import grammar_text
from grammar.vocabulary import Vocabulary

_NOTE_WORDS = frozenset({"note", "remark", "comment"})
ANY_TOKEN = "*"
"""Stands for a token that is not known yet: every rule may begin with it. In no grammar."""

#: One breath is read several times over: by the recogniser, to tell hearings of other values apart,
#: and by the session, with the date of the visit.
TREES_KEPT = 64

ParseTree = Tree[Token]


class UnknownWordError(Exception):
    """A word that is in no rule. ``at``: its character in the phrase."""

    def __init__(self, at: int, word: str) -> None:
        super().__init__(word)
        self.at = at
        self.word = word


class WordLexer(Lexer):
    """Splits a normalised phrase at its spaces; each word and each space is one token."""

    def __init__(self, conf: LexerConf) -> None:
        self.words: dict[str, str] = {}
        self.patterns: list[tuple[re.Pattern[str], str]] = []
        for terminal in conf.terminals:
            if isinstance(terminal.pattern, PatternStr):
                self.words[terminal.pattern.value] = terminal.name
            elif terminal.name != "NOTE_TEXT":
                self.patterns.append((re.compile(terminal.pattern.value), terminal.name))

    def terminal(self, word: str) -> str | None:
        """Name of the terminal that a word is, None for an unknown word."""
        name = self.words.get(word)
        if name is None:
            name = next((n for pattern, n in self.patterns if pattern.fullmatch(word)), None)
        return name

    def tokens(self, text: str) -> list[Token]:
        """Tokens of a phrase. Raises UnknownWordError at the first word that is in no rule."""
        out: list[Token] = []
        at = 0
        for word in text.split(" "):
            if out:
                out.append(_token(self.words[" "], " ", at - 1))
            if word in _NOTE_WORDS and at + len(word) < len(text):
                out.append(_token("NOTE_TEXT", text[at:], at))
                return out
            name = self.terminal(word)
            if name is None:
                raise UnknownWordError(at, word)
            out.append(_token(name, word, at))
            at += len(word) + 1
        return out

    def lex(self, data: Any, parser_state: Any = None) -> Iterator[Token]:
        """The interface lark calls; the work is done by ``tokens``."""
        yield from self.tokens(str(data))


def _token(name: str, value: str, at: int) -> Token:
    return Token(
        name,
        value,
        start_pos=at,
        line=1,
        column=at + 1,
        end_line=1,
        end_column=at + 1 + len(value),
        end_pos=at + len(value),
    )


class _Predictions:
    """lark's prediction table, cut to the rules that the next token can begin."""

    def __init__(self, table: dict[Any, list[Any]], first: dict[Any, set[Any]]) -> None:
        self._table = table
        self._first = first
        self._cut: dict[tuple[Any, str | None], list[Any]] = {}
        self.next_token: str | None = None

    def __getitem__(self, symbol: Any) -> list[Any]:
        key = (symbol, self.next_token)
        cut = self._cut.get(key)
        if cut is None:
            cut = [rule for rule in self._table[symbol] if self._can_begin(rule)]
            self._cut[key] = cut
        return cut

    def _can_begin(self, rule: Any) -> bool:
        if self.next_token == ANY_TOKEN:
            return True
        head = rule.expansion[0]
        if head.is_term:
            return bool(head.name == self.next_token)
        return any(symbol.name == self.next_token for symbol in self._first[head])


class PhraseParser:
    """Parses normalised phrases with one vocabulary. Safe to share between threads."""

    def __init__(self, vocabulary: Vocabulary) -> None:
        self._lock = threading.Lock()
        self._lark = Lark(
            grammar_text(vocabulary),
            parser="earley",
            lexer=WordLexer,
            ambiguity="explicit",
            propagate_positions=True,
            maybe_placeholders=False,
            keep_all_tokens=True,
        )
        frontend: Any = self._lark.parser
        earley = frontend.parser
        self._predictions = _Predictions(earley.predictions, earley.FIRST)
        earley.predictions = self._predictions
        self._earley = earley
        self._start = self._lark.options.start[0]
        self._lexer = WordLexer(frontend.lexer_conf)
        self._kept = lru_cache(TREES_KEPT)(self._trees)

    def trees(self, normal: str) -> ParseTree | Unread:
        """Tree of a phrase, with ``_ambig`` nodes where it can be read in several ways.

        Not to be changed: the trees of the last phrases are kept.
        """
        return self._kept(normal)

    def _trees(self, normal: str) -> ParseTree | Unread:
        try:
            tokens = self._lexer.tokens(normal)
        except UnknownWordError as error:
            return Unread(error.at, f"'{error.word}' is no word of the exam language.")
        with self._lock:
            self._predictions.next_token = tokens[0].type
            try:
                return self._earley.parse(_Announced(tokens, self._predictions), self._start)  # type: ignore[no-any-return]
            except UnexpectedEOF as error:
                return Unread(len(normal), "the phrase stops in the middle.", _expected(error))
            except UnexpectedToken as error:
                at = error.token.start_pos or 0
                return Unread(at, f"'{_word_at(normal, at)}' does not fit here.", _expected(error))
            except UnexpectedInput as error:
                return Unread(error.pos_in_stream or 0, "the phrase cannot be read from here.")

    def next_words(self, normal: str) -> tuple[str, ...]:
        """Words that may follow a normalised phrase, or begin one; () where it cannot be read.

        Numerals are left out: there are too many to offer.
        """
        try:
            tokens = self._lexer.tokens(normal) if normal else []
        except UnknownWordError:
            return ()
        if tokens:
            tokens.append(_token(self._lexer.words[" "], " ", len(normal)))
        tokens.append(_token(ANY_TOKEN, ANY_TOKEN, len(normal) + 1))
        with self._lock:
            self._predictions.next_token = tokens[0].type
            try:
                self._earley.parse(_Announced(tokens, self._predictions), self._start)
            except UnexpectedToken as error:
                if error.token.type != ANY_TOKEN:
                    return ()
                names = error.expected
            except UnexpectedInput:
                return ()
        words = {name: word for word, name in self._lexer.words.items()}
        return tuple(sorted(words[name] for name in names if name in words))


class _Announced:
    """Tokens for the parser, each announced to the prediction table before it is needed."""

    def __init__(self, tokens: list[Token], predictions: _Predictions) -> None:
        self._tokens = tokens
        self._predictions = predictions

    def lex(self, _expects: Any) -> Iterator[Token]:
        for token in self._tokens:
            self._predictions.next_token = token.type
            yield token
        self._predictions.next_token = None


def _word_at(text: str, at: int) -> str:
    start = at + 1 if text[at : at + 1] == " " else at
    return text[start:].split(" ", 1)[0] or text[at:]


def _expected(error: UnexpectedToken | UnexpectedEOF) -> tuple[str, ...]:
    names = getattr(error, "accepts", None) or getattr(error, "expected", ()) or ()
    return tuple(sorted(str(name).lower() for name in names))
