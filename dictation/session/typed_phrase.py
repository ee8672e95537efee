"""What a person types at the desk, as findings: as it is spoken, or in short forms."""

from __future__ import annotations

from datetime import date

from dictation.errors import WrongUseError
from dictation.session.wording import written
from grammar.findings import Command, CommandName, Reading, Said
from grammar.parse import parse
from grammar.short_forms import spelled_out


def findings_typed(text: str, on: date | None) -> tuple[Said, ...]:
    """The findings of a typed phrase. Raises WrongUseError with where and why it cannot be read."""
    phrase = spelled_out(text)
    reading = parse(phrase, on)
    if reading.unread is not None:
        raise WrongUseError(_unread(reading))
    if reading.others:
        readings = " or ".join(f"'{_words(said)}'" for said in (reading.said, *reading.others))
        raise WrongUseError(f"That can be read in two ways, {readings}: say which.")
    found = tuple(each for said in reading.said if (each := _finding(said)) is not None)
    if not found:
        raise WrongUseError("No finding was named: type what was seen, or a tag.")
    return found


def _finding(said: Said) -> Said | None:
    what = said.what
    if not isinstance(what, Command):
        return said
    if what.name is CommandName.NEXT_ANIMAL:
        return None if what.animal is None else Said(what.animal, said.start, said.end, said.words)
    raise WrongUseError(
        f"'{said.words}' is a spoken command, not a finding: use the keys of this page for it."
    )


def _unread(reading: Reading) -> str:
    assert reading.unread is not None
    before = reading.normal[: reading.unread.at].strip()
    where = f" after '{before}'" if before else ""
    return f"Not read{where}: {reading.unread.sentence}"


def _words(said: tuple[Said, ...]) -> str:
    return ", ".join(written(s.what) for s in said if not isinstance(s.what, Command))
