"""How a recogniser may write a phrase, and whether its constraint holds a text."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence

from dictation.recognition.language import Language
from dictation.recognition.tokens import TokenTable
from grammar import constraint
from grammar.constraint import CLOSINGS, SEPARATORS, written_forms
from grammar.normalise import CONTRACTIONS
from grammar.vocabulary import Vocabulary

Choose = Callable[[Sequence[str]], str]
_SPECIAL = (b"<unk>", b"<s>", b"</s>")
_BYTES = TokenTable((*_SPECIAL, *(bytes((byte,)) for byte in range(256))), frozenset({0, 1, 2}))


def written(normal: str, choose: Choose, vocabulary: Vocabulary | None = None) -> str:
    """One way of writing a normalised phrase; ``choose`` picks among the forms of each word."""
    contracted = normal
    for short, long in CONTRACTIONS.items():
        contracted = re.sub(rf"\b{long}\b", _either(choose, long, short), contracted)
    parts: list[str] = []
    for word in contracted.split(" "):
        if parts:
            parts.append(choose(SEPARATORS))
        if re.fullmatch(r"[a-z]+", word):
            parts.append(choose(written_forms(word, vocabulary)))
        else:
            parts.append(word)
    return "".join(parts) + choose(CLOSINGS)


def _either(choose: Choose, long: str, short: str) -> Callable[[re.Match[str]], str]:
    return lambda _: choose((long, short))


def constraint_in_force() -> Language:
    """The constraint of the vocabulary in force, over single bytes."""
    return Language(_BYTES, constraint())


def accepted(text: str, language: Language) -> bool:
    """Whether a text is whole in a language."""
    return language.holds([byte + len(_SPECIAL) for byte in f" {text}".encode()])
