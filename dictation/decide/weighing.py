"""What is made of an utterance when it is heard: which reading, what else it may be, and why.

The words, the other hypotheses, the herd list and the animal in hand are weighed once, here, and
the result goes into the journal. Context only ever raises a question: it offers the number that
fits, and says so.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from dictation.decide.alike import alike_in, swaps, with_numbers
from dictation.decide.doubt import OFFERED, Parse, alternatives, doubts_of_heard, doubts_of_reading
from dictation.decide.listed_tags import doubt_of_tag
from dictation.recognition.protocol import Heard, Outcome
from dictation.visit.state import Visit
from grammar.findings import Pregnancy, Reading, Said, Unread

SERVICE_FITS_DAYS = 3
"""An age this near to a listed service fits it; our choice."""
SERVICE_FAR_DAYS = 7
"""An age further than this from every listed service does not; the checks' own allowance for a
stated age is narrower, so this asks only where a number was more likely misheard."""

Values = tuple[Said, ...]


@dataclass(frozen=True, slots=True)
class Weighed:
    """``said``: what is recorded, surely or, where there are ``doubts``, as queried."""

    said: Values = ()
    alternatives: tuple[Values, ...] = ()
    unread: Unread | None = None
    doubts: tuple[str, ...] = ()


def weighed(heard: Heard, parse: Parse, visit: Visit, on: date) -> Weighed:
    """What is made of a hearing in the middle of a visit."""
    if heard.outcome is not Outcome.HEARD or not heard.hypotheses:
        return Weighed(doubts=doubts_of_heard(heard, None, on))
    reading = parse(heard.hypotheses[0].normal, on)
    doubts = doubts_of_heard(heard, reading, on)
    if reading.unread is not None:
        return _as_number(reading, parse, on) or Weighed((), (), reading.unread, doubts)
    others = alternatives(heard, reading, parse, on)
    said = reading.said
    for other, why in (*_alike_heard(heard, doubts), *_alike_fits(reading, doubts, parse, visit)):
        others = others if other is None else (other, *(o for o in others if _differ(o, other)))
        doubts = (*doubts, why)
    tag = doubt_of_tag(said, _others_heard(heard, parse, on), (a.tag for a in visit.herd))
    if tag is not None:
        said, doubts = tag.said, (tag.why, *doubts)
        others = (*tag.others, *(o for o in others if all(_differ(o, t) for t in tag.others)))
        others = tuple(o for o in others if _differ(o, said))
    return Weighed(said, others[:OFFERED], None, tuple(dict.fromkeys(doubts)))


def _differ(one: Values, other: Values) -> bool:
    return [each.what for each in one] != [each.what for each in other]


def _others_heard(heard: Heard, parse: Parse, on: date) -> list[tuple[float, Values]]:
    best = heard.hypotheses[0].log_score
    read = ((h, parse(h.normal, on)) for h in heard.hypotheses[1:])
    return [(best - h.log_score, r.said) for h, r in read if r.unread is None and not r.others]


def _as_number(reading: Reading, parse: Parse, on: date) -> Weighed | None:
    """'Follicle for mil' cannot be read; 'follicle four mil' can, and is asked about."""
    for words, was, number in with_numbers(reading.normal):
        read = parse(words, on)
        if read.unread is None and not read.others:
            why = f"'{was}' was written, where '{number}' can be read"
            return Weighed(read.said, (), None, (why, *doubts_of_reading(read, on)))
    return None


def _alike_heard(heard: Heard, doubts: tuple[str, ...]) -> Iterator[tuple[None, str]]:
    """Why the likeliest other hearing is near: its number sounds like ours."""
    if not doubts or len(heard.hypotheses) < 2:
        return
    for other in heard.hypotheses[1 : 1 + OFFERED]:
        pair = alike_in(heard.hypotheses[0].normal, other.normal)
        if pair is not None:
            yield None, _sound_alike(*pair)
            return


def _alike_fits(
    reading: Reading, doubts: tuple[str, ...], parse: Parse, visit: Visit
) -> Iterator[tuple[Values, str]]:
    """A number that sounds like the one heard, where it would fit and that one does not."""
    on = visit.on_date
    if on is None or reading.others:
        return
    implausible = doubts_of_reading(reading, on)
    services = _days_since_services(visit, on)
    for words, was, now in swaps(reading.normal):
        other = parse(words, on)
        if other.unread is not None or other.others or doubts_of_reading(other, on):
            continue
        if implausible:
            yield other.said, _sound_alike(was, now)
            return
        age, instead = _age(reading), _age(other)
        if age is None or instead is None or age == instead or not services:
            continue
        fits = [days for days in services if abs(days - instead) <= SERVICE_FITS_DAYS]
        if fits and all(abs(days - age) > SERVICE_FAR_DAYS for days in services):
            yield (
                other.said,
                f"{age} days fits no listed service, {instead} days fits one {fits[0]} days ago; "
                + _sound_alike(was, now),
            )
            return


def _sound_alike(one: str, other: str) -> str:
    return f"'{one}' and '{other}' sound alike"


def _age(reading: Reading) -> int | None:
    ages = [f.age_days for f in reading.findings if isinstance(f, Pregnancy)]
    return ages[0] if len(ages) == 1 else None


def _days_since_services(visit: Visit, on: date) -> tuple[int, ...]:
    """Days since each listed service of the animal in hand; none for a time with a bull."""
    exam = visit.exam_in_hand
    if exam is None or exam.known is None:
        return ()
    known = exam.known.services
    return tuple((on - s.first_day).days for s in known if s.last_day is None)
