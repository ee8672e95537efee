"""exam.lark and the vocabulary as one grammar text, read by lark and by llguidance."""

from __future__ import annotations

import re
from importlib import resources

from grammar.vocabulary import Vocabulary, built_in

_COMMENT = re.compile(r"^\s*//.*$", re.MULTILINE)


def exam_rules() -> str:
    """The text of exam.lark."""
    return resources.files("grammar").joinpath("exam.lark").read_text(encoding="utf-8")


def term_rule(name: str, forms: tuple[str, ...]) -> str:
    """A grammar rule for a term of the vocabulary: ``cl: "cl" | "corpus" SP "luteum"``."""
    bodies = (" SP ".join(f'"{word}"' for word in form.split()) for form in forms)
    return f"{name}: " + " | ".join(bodies)


def grammar_text(vocabulary: Vocabulary | None = None) -> str:
    """The whole grammar of normalised text."""
    vocabulary = vocabulary or built_in()
    rules = [term_rule(name, forms) for name, forms in vocabulary.terms.items()]
    return _COMMENT.sub("", exam_rules()) + "\n" + "\n".join(rules) + "\n"
