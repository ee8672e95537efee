"""A line that is an electronic number, typed or sent by a reader, as the phrase that names it."""

from __future__ import annotations

from dictation.reader.number import Electronic, NoNumber, electronic


def phrase_of(line: str) -> tuple[str, str | None]:
    """A typed line as a phrase, and why it cannot be one: a reader's line names its number."""
    number = electronic(line)
    if isinstance(number, Electronic):
        return f"electronic number {number.digits}", None
    return line, number.why if isinstance(number, NoNumber) else None
