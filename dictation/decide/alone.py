"""A number or a side said by itself: what the last phrase still wants, or the tag of a cow.

A bare number is the size or the age that is wanted. It is a tag where it was said digit by digit,
cannot be that value, or is on the list; what may well be either is asked.
"""

from __future__ import annotations

from dataclasses import replace

from dictation.decide.completing import sized, wanting, wants_age, wants_side, wants_size
from dictation.decide.doubt import NUMBER_WORDS
from dictation.decide.rivals import Parse, out_of_range
from dictation.decide.tags import DIGITS
from dictation.visit.state import Visit
from grammar.findings import Animal, Command, CommandName, Finding, Ovary, Pregnancy, Reading, Said

SIDE_ALONE = "a side was said, and nothing of it."
"""The parser's words for 'left' alone: by itself the beginning of a phrase, not the end of one."""

TAGS_FROM = 3
"""A listed tag of so many digits is asked about beside a value; a shorter number is the value."""

_NUMBER = NUMBER_WORDS | DIGITS | {"and", "a", "point"}


def is_tag_alone(reading: Reading) -> bool:
    """Whether nothing but a number was read, as a tag."""
    return isinstance(what := _only(reading), Animal) and what.tag_alone


def alone(reading: Reading, words: str, visit: Visit, parse: Parse) -> Reading:
    """The reading of a bare number or side in the middle of a visit; else as it was read."""
    wanted = wanting(visit)
    if reading.unread is not None and reading.unread.sentence == SIDE_ALONE:
        told = side_alone(words, wanted, parse)
        return reading if told is None else _read(reading, [told])
    spoken = words.split()
    if not all(word in _NUMBER for word in spoken):
        return reading
    by_digits = len(spoken) > 1 and all(word in DIGITS for word in spoken)
    value = None if by_digits else _value(words, wanted, visit, parse)
    tag = _listed_tag(words, visit, parse)
    if tag is None:
        return reading if value is None else _read(reading, [value])
    if value is None:
        return _read(reading, [tag])
    return _read(reading, [tag, value] if len(tag.tag or "") >= TAGS_FROM else [value])


def _read(reading: Reading, meant: list[Finding | Command]) -> Reading:
    normal = reading.normal
    said, *others = ((Said(what, 0, len(normal), normal),) for what in meant)
    return replace(reading, said=said, others=tuple(others), unread=None)


def _only(reading: Reading) -> Finding | Command | None:
    return reading.said[0].what if len(reading.said) == 1 and not reading.others else None


def side_alone(words: str, wanted: tuple[Finding | Command, ...], parse: Parse) -> Command | None:
    """'Right side' of what has none. 'On the right' may begin the next station, and is of nothing
    but a structure; 'right' by itself is said to people too."""
    what = _only(parse(f"cl {words}", None))
    fitting = [f for f in wanted if wants_side(f) and ("side" in words or isinstance(f, Ovary))]
    if " " not in words or not isinstance(what, Ovary) or what.side is None or not fitting:
        return None
    return Command(CommandName.SIZE, side=what.side)


def _listed_tag(words: str, visit: Visit, parse: Parse) -> Animal | None:
    what = _only(parse(f"tag {words}", None))
    if not isinstance(what, Animal) or visit.herd_list is None:
        return None
    known = len(what.tag or "") > 1 and bool(visit.numbers.named(what.tag or ""))
    return replace(what, tag_alone=True) if known else None


def _value(
    words: str, wanted: tuple[Finding, ...], visit: Visit, parse: Parse
) -> Finding | Command | None:
    """What a bare number says of the last that wants one; None where no cow has it."""
    on = visit.on_date
    for finding in wanted:
        if not (wants_age(finding) or wants_size(finding)):
            continue
        what = _only(parse(f"{'pregnant' if wants_age(finding) else 'cl'} {words}", None))
        given: Finding | Command | None = None
        meant: Finding | None = None
        if isinstance(what, Pregnancy) and what.age_days is not None:
            given = meant = replace(what, status_assumed=True)
        elif isinstance(what, Ovary) and what.size_mm is not None:
            given = Command(CommandName.SIZE, number=what.size_mm)
            meant = sized(finding, what.size_mm)
        if on is None or meant is None or out_of_range((Said(meant, 0, 0, words),), on):
            return None
        return given
    return None
