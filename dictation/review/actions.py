"""A form sent by the page, as an order. Everything in it is checked; nothing is trusted."""

from __future__ import annotations

from collections.abc import Mapping

from dictation.decide.orders import About, Order, order
from dictation.errors import WrongUseError
from dictation.review.access import whole_number
from dictation.visit.state import Visit

Form = Mapping[str, str]

LONGEST_TEXT = 400
"""Characters of a phrase or reason; no breath is longer."""

TYPED = frozenset({"phrase", "insert", "move", "merge", "tag", "add"})
"""Orders for which something must have been typed."""


def ordered(visit: Visit, form: Form) -> Order:
    """What a form asks for. Raises WrongUseError with a sentence for the reviewer."""
    name, text = form.get("action", ""), _line(form, "text")
    if name in TYPED and not text:
        raise WrongUseError("Nothing was typed.")
    if len(text) > LONGEST_TEXT:
        raise WrongUseError(f"That is longer than {LONGEST_TEXT} characters: type it in parts.")
    numbers = (_number(form, each) for each in ("exam", "phrase", "finding", "entry"))
    exam, phrase, finding, entry = numbers
    return order(visit, name, About(exam, phrase, form.get("query"), finding, entry), text)


def reason(form: Form) -> str:
    """Why it is done, as typed."""
    return _line(form, "why")[:LONGEST_TEXT]


def _line(form: Form, name: str) -> str:
    return " ".join(form.get(name, "").split())


def _number(form: Form, name: str) -> int | None:
    text = form.get(name, "")
    number = whole_number(text)
    if text and number is None:
        raise WrongUseError(f"The page did not say which {name}: load it again.")
    return number
