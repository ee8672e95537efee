"""What is made of an utterance when it is heard: which reading, what else it may be, and why.

The words, the other hypotheses, the herd list and the animal in hand are weighed once, here, and
the result goes into the journal. What the farm's papers say settles which of two hearings was meant
only where the likelier one is the one that fits them; else it raises a question, and says why.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date

from dictation.decide.doubt import (
    ASK_BELOW,
    OFFERED,
    OFFERED_NATS,
    WRITTEN_FOR_NUMBERS,
    alike_in,
    confidence_beside,
    doubts_of_heard,
    doubts_of_reading,
    swaps,
)
from dictation.decide.rivals import (
    UNLIKELY_NATS,
    Parse,
    Rival,
    changes_the_record,
    could_be_meant,
    rivals,
    same_but_for_tags,
    together,
    unseen,
    worth_a_question,
)
from dictation.decide.tag_doubt import doubt_of_tag, named_by_tag
from dictation.recognition.protocol import Heard, Outcome
from dictation.visit.herd_numbers import HerdNumbers
from dictation.visit.state import Visit
from grammar.findings import Animal, Command, Finding, Pregnancy, Reading, Said, Unread

SERVICE_FITS_DAYS = 3
"""An age this near to a listed service fits it; our choice."""
SERVICE_FAR_DAYS = 7
"""An age further than this from every listed service does not; the checks' own allowance for a
stated age is narrower, so this asks only where a number was more likely misheard."""

Values = tuple[Said, ...]


CONTEXT_NATS = 4.4
"""Further off so much is a tag that is not on the list, where another is, or an age that fits no
service, where another does. One animal in ten off a list of a hundred, an unlisted number of three
digits is 4.4 nats less likely than a listed one before anything is heard."""

TAKEN_NATS = 0.5
"""A listed tag that was heard no further behind one that is not listed is taken for it: by the same
reckoning one in fifty of those taken so is wrong."""


@dataclass(frozen=True, slots=True)
class Weighed:
    """``said``: what is recorded, surely or, where there are ``doubts``, as queried.

    ``by_context``: why what was known beforehand made it plain, where sound alone did not.
    ``confidence``: the chance that the values are right, among all that may have been meant.
    """

    said: Values = ()
    alternatives: tuple[Values, ...] = ()
    unread: Unread | None = None
    doubts: tuple[str, ...] = ()
    by_context: tuple[str, ...] = ()
    confidence: float = 0.0


def weighed(heard: Heard, parse: Parse, visit: Visit, on: date) -> Weighed:
    """What is made of a hearing in the middle of a visit."""
    if heard.outcome is not Outcome.HEARD or not heard.hypotheses:
        return Weighed(doubts=doubts_of_heard(heard, None, None, on), confidence=heard.confidence)
    reading = parse(heard.hypotheses[0].normal, on)
    if reading.unread is not None:
        doubts = doubts_of_heard(heard, reading, None, on)
        return _as_number(reading, parse, on, heard.confidence) or Weighed(
            (), (), reading.unread, doubts, (), heard.confidence
        )
    said, found = reading.said, rivals(heard, parse, on)
    listed = visit.numbers
    found = tuple(r for r in found if not _same_animal(said, r.said, listed))
    reasons: list[str] = []
    if (instead := _listed_instead(said, found, listed)) is not None:
        reasons.append(_list_says(instead.said, said))
        found = tuple(r for r in found if r is not instead)
        said = instead.said
    on_paper = {r: _settled_by(said, r.said, listed, visit) for r in found}
    worth = [r for r in found if worth_a_question(r.said, said, on)]
    serious = [r for r in found if changes_the_record(r.said, said)]
    away = [
        replace(
            r,
            nats=r.nats + UNLIKELY_NATS * (r not in worth) + CONTEXT_NATS * bool(on_paper[r]),
            normal=r.normal if r in worth else "",
        )
        for r in serious
    ]
    near = together((*away, unseen(heard)))
    doubts = doubts_of_heard(heard, reading, near, on)
    if not doubts and worth and confidence_beside(heard, worth[0]) < ASK_BELOW:
        reasons += filter(None, [on_paper[worth[0]]])
    others = tuple(o for o in reading.others if worth_a_question(o, said, on))
    others += tuple(r.said for r in worth if r.nats < OFFERED_NATS)
    for other, why in (*_alike_heard(heard, doubts), *_alike_fits(reading, doubts, parse, visit)):
        others = others if other is None else (other, *(o for o in others if _differ(o, other)))
        doubts = (*doubts, why)
    meant = [(r.nats, r.said) for r in found if could_be_meant(r.said, on)]
    borne_out = heard.odds is not None and parse(heard.free_text, on).said
    if (tag := doubt_of_tag(said, meant, listed, borne_out or ())) is not None:
        said, doubts = tag.said, (tag.why, *doubts)
        others = (*tag.others, *(o for o in others if all(_differ(o, t) for t in tag.others)))
        others = tuple(o for o in others if _differ(o, said))
    told = tuple(dict.fromkeys(doubts))
    sure = confidence_beside(heard, near)
    return Weighed(said, others[:OFFERED], None, told, () if told else tuple(reasons), sure)


def _listed_instead(said: Values, found: Sequence[Rival], listed: HerdNumbers) -> Rival | None:
    """A listed animal's reading, where the best names one that is not and lies hardly ahead."""
    animal = named_by_tag(said)
    if not listed or animal is None or _on_list(animal, listed) or animal.listed is False:
        return None
    near = [r for r in found if r.nats <= TAKEN_NATS and same_but_for_tags(r.said, said)]
    known = [r for r in near if _on_list(named_by_tag(r.said), listed)]
    return known[0] if len(known) == 1 else None


def _settled_by(said: Values, other: Values, listed: HerdNumbers, visit: Visit) -> str:
    """Why what is known of the farm makes ``said`` plain against ``other``; empty where not."""
    ours, theirs = named_by_tag(said), named_by_tag(other)
    if ours and theirs and _on_list(ours, listed) and not _on_list(theirs, listed):
        return _list_says(said, other)
    age, instead = _age(said), _age(other)
    services = _days_since_services(visit, visit.on_date) if visit.on_date else ()
    if age is None or instead is None or not _same_but_for_ages(said, other):
        return ""
    fits = [days for days in services if abs(days - age) <= SERVICE_FITS_DAYS]
    if fits and all(abs(days - instead) > SERVICE_FAR_DAYS for days in services):
        return f"{age} days fits the service {fits[0]} days ago, {instead} days fits none"
    return ""


def _on_list(animal: Animal | None, listed: HerdNumbers) -> bool:
    return animal is not None and animal.tag is not None and animal.tag in listed


def _same_animal(said: Values, other: Values, listed: HerdNumbers) -> bool:
    """Whether both say the same of one animal, named by more or by fewer digits of her number."""
    ours, theirs = named_by_tag(said), named_by_tag(other)
    if ours is None or theirs is None or ours.tag is None or theirs.tag is None:
        return False
    return (
        ours.tag != theirs.tag
        and listed.same(ours.tag, theirs.tag)
        and same_but_for_tags(said, other)
    )


def _list_says(said: Values, other: Values) -> str:
    ours, theirs = named_by_tag(said), named_by_tag(other)
    assert ours is not None
    assert theirs is not None
    return f"tag {ours.tag} is on the herd list, tag {theirs.tag} is not"


def _same_but_for_ages(said: Values, other: Values) -> bool:
    return _ageless(said) == _ageless(other)


def _ageless(said: Values) -> list[Finding | Command]:
    return [
        replace(w, age_days=None, age_to_days=None, approximate=False, stated_as=None)
        if isinstance(w := each.what, Pregnancy)
        else w
        for each in said
    ]


def _differ(one: Values, other: Values) -> bool:
    return [each.what for each in one] != [each.what for each in other]


def _as_number(reading: Reading, parse: Parse, on: date, confidence: float) -> Weighed | None:
    """'Follicle for mil' cannot be read; 'follicle four mil' can, and is asked about."""
    for words, was, number in swaps(reading.normal, WRITTEN_FOR_NUMBERS):
        read = parse(words, on)
        if read.unread is None and not read.others:
            why = f"'{was}' was written, where '{number}' can be read"
            return Weighed(read.said, (), None, (why, *doubts_of_reading(read, on)), (), confidence)
    return None


def _alike_heard(heard: Heard, doubts: tuple[str, ...]) -> Iterator[tuple[None, str]]:
    """Why the likeliest other hearing is near: its number sounds like ours."""
    best = heard.hypotheses[0].normal
    others = heard.hypotheses[1 : 1 + OFFERED] if doubts else ()
    pair = next(filter(None, (alike_in(best, other.normal) for other in others)), None)
    if pair is not None:
        yield None, _sound_alike(*pair)


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
        age, instead = _age(reading.said), _age(other.said)
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


def _age(said: Values) -> int | None:
    ages = [s.what.age_days for s in said if isinstance(s.what, Pregnancy)]
    return ages[0] if len(ages) == 1 else None


def _days_since_services(visit: Visit, on: date) -> tuple[int, ...]:
    """Days since each listed service of the animal in hand; none for a time with a bull."""
    exam = visit.exam_in_hand
    if exam is None or exam.known is None:
        return ()
    known = exam.known.services
    return tuple((on - s.first_day).days for s in known if s.single)
