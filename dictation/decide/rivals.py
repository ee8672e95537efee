"""Other readings of an utterance, and which of them are worth a question.

A rival is worth one only where taking it would change the record and a person could have meant it.
One that hardly anybody could have meant is not offered; but that the sound is like it still says
something of how clear the sound was, so it counts as further off. What else was heard is kept with
the phrase all the same, for whoever reviews it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, fields, is_dataclass, replace
from datetime import date
from typing import Any

import numpy as np

from dictation.recognition.protocol import KEPT_HYPOTHESES, Heard
from grammar.checks import ranges
from grammar.exam import Exam, FindingState, RecordedFinding, Severity
from grammar.facts import facts_of
from grammar.findings import (
    Animal,
    Command,
    CommandName,
    Conceptus,
    Finding,
    Plan,
    PlanAction,
    Pregnancy,
    PregnancyStatus,
    Reading,
    Said,
    UterineState,
    Uterus,
    Viability,
)

Parse = Callable[[str, date | None], Reading]
"""``grammar.parse``: the text of a phrase and the date of the visit to its reading."""

What = Finding | Command

_PLAUSIBLE = tuple(rule for rule in ranges.RULES if rule.severity is not Severity.NOTE)

_HOW_IT_WAS_SAID = frozenset(
    {"unit_assumed", "approximate", "stated_as", "status_assumed", "tag_alone", "listed"}
)
"""Fields that say how a value was spoken: alike in all else, two readings are the same finding."""

_DISEASES = frozenset(
    {
        UterineState.ENDOMETRITIS,
        UterineState.PYOMETRA,
        UterineState.METRITIS,
        UterineState.MUCOMETRA,
        UterineState.MUMMIFIED,
        UterineState.MACERATED,
        UterineState.PUS,
        UterineState.WHITES,
    }
)
_ENDS = (Command(CommandName.CLOSE_VISIT), Command(CommandName.CLOSE_ANYWAY))
_TREATS = frozenset({PlanAction.CULL, PlanAction.TREAT, PlanAction.TERMINATE})


FAR_NATS = 10.0
"""Where fewer were kept than could have been, nothing else came so near."""

UNLIKELY_NATS = 3.0
"""Further off so much is a reading that nobody means: no cow has its value. Without it 'next cow
forty one' was taken of a sound that was as like 'left follicle 41', which is too large. Our
choice: one such reading is meant for twenty that are not."""


@dataclass(frozen=True, slots=True)
class Rival:
    """Another reading. ``nats``: how far behind the best its words lie, all that say it together;
    ``normal``: the likeliest of them; empty where nobody is to be told."""

    said: tuple[Said, ...]
    nats: float
    normal: str


def unseen(heard: Heard) -> Rival:
    """Whatever else it may have been: no nearer than the last of as many as are kept."""
    best, *others = heard.hypotheses
    full = len(heard.hypotheses) >= KEPT_HYPOTHESES
    return Rival((), max(other.behind(best) for other in others) if full else FAR_NATS, "")


def rivals(heard: Heard, parse: Parse, on: date) -> tuple[Rival, ...]:
    """Readings with other values among the hypotheses, the nearest first."""
    best, *others = heard.hypotheses
    groups: dict[tuple[What, ...], list[tuple[float, str, tuple[Said, ...]]]] = {}
    top = _values(parse(best.normal, on).said)
    for hypothesis in (best, *others):
        reading = parse(hypothesis.normal, on)
        if reading.unread is None and not (reading.others and hypothesis is not best):
            told = (hypothesis.behind(best), hypothesis.normal, reading.said)
            groups.setdefault(_values(reading.said), []).append(told)
    leads = _pooled(groups.pop(top, [(0.0, best.normal, ())]))
    found = (
        Rival(group[0][2], _pooled(group) - leads, group[0][1])
        for values, group in groups.items()
        if values
    )
    return tuple(sorted(found, key=lambda rival: rival.nats))


def _pooled(group: list[tuple[float, str, tuple[Said, ...]]]) -> float:
    return -float(np.logaddexp.reduce([-nats for nats, _, _ in group]))


def together(found: Iterable[Rival]) -> Rival:
    """The nearest, as near as all of them are: three of a kind are more likely than one."""
    nearest, *others = sorted(found, key=lambda rival: rival.nats)
    nats = -float(np.logaddexp.reduce([-rival.nats for rival in (nearest, *others)]))
    return replace(nearest, nats=nats)


def worth_a_question(said: tuple[Said, ...], top: tuple[Said, ...], on: date) -> bool:
    """Whether ``said`` could have been meant for ``top``, and would change the record."""
    if not changes_the_record(said, top):
        return False
    return could_be_meant(said, on) or not could_be_meant(top, on)


def changes_the_record(said: tuple[Said, ...], top: tuple[Said, ...]) -> bool:
    """Not one that says the same in other words, or is a part of it, unless what it lacks is grave.

    'Yes' cannot be offered as what was meant: it would be the answer to itself.
    """
    theirs, ours = _values(said), _values(top)
    if any(isinstance(w, Command) and w.name is CommandName.ANSWER for w in theirs):
        return False
    return not _is_part(theirs, ours) or any(is_grave(w) for w in ours if w not in theirs)


def could_be_meant(said: tuple[Said, ...], on: date) -> bool:
    """No value that no cow has, and no animal named as nobody names one."""
    tags = [animal.tag for animal in animals_in(said)]
    named = len(tags) <= 1 and not any(tag.startswith("00") or tag == "0" for tag in tags if tag)
    return named and not out_of_range(said, on)


def out_of_range(said: tuple[Said, ...], on: date) -> tuple[str, ...]:
    """Why values of these findings are none that a cow has."""
    findings = (each.what for each in said if not isinstance(each.what, Command))
    recorded = tuple(
        RecordedFinding(number, finding, FindingState.ACCEPTED, "")
        for number, finding in enumerate(findings, start=1)
    )
    facts = facts_of(Exam(number=1, on_date=on, recorded=recorded))
    return tuple(raised.why for rule in _PLAUSIBLE for raised in rule.find(facts))


def animals_in(said: tuple[Said, ...]) -> Iterator[Animal]:
    """The animals that a phrase names, by whatever."""
    for each in said:
        animal = each.what.animal if isinstance(each.what, Command) else each.what
        if isinstance(animal, Animal):
            yield animal


def is_grave(what: What) -> bool:
    """What must not be stored of other people's words: status, twins, a loss, a disease, a
    treatment, culling, the end of the visit."""
    match what:
        case Pregnancy(status=PregnancyStatus.PREGNANT | PregnancyStatus.OPEN):
            return True
        case Conceptus(count=count):
            return count > 1
        case Uterus(state=state):
            return state in _DISEASES
        case Plan(action=action, treatment_class=treatment):
            return action in _TREATS or treatment is not None
        case _:
            return what in (Viability(loss=True), *_ENDS)


def same_but_for_tags(one: tuple[Said, ...], other: tuple[Said, ...]) -> bool:
    """The same phrase of another animal."""
    return _values(_untagged(one)) == _values(_untagged(other))


def _untagged(said: tuple[Said, ...]) -> tuple[Said, ...]:
    return tuple(replace(each, what=_unnamed(each.what)) for each in said)


def _unnamed(what: What) -> What:
    if isinstance(what, Animal):
        return Animal()
    if isinstance(what, Command) and what.animal is not None:
        return replace(what, animal=Animal())
    return what


def _values(said: tuple[Said, ...]) -> tuple[What, ...]:
    """Values once each, without how they were spoken: a recogniser that stutters has not heard
    another value."""
    return tuple(dict.fromkeys(_plain(each.what) for each in said))


def _plain(what: What) -> Any:
    """The same without how it was said."""
    blank: dict[str, Any] = {f.name: f.default for f in fields(what) if f.name in _HOW_IT_WAS_SAID}
    if isinstance(what, Command) and what.animal is not None:
        blank["animal"] = _plain(what.animal)
    return replace(what, **blank)


def _is_part(theirs: tuple[What, ...], ours: tuple[What, ...]) -> bool:
    return all(any(_lacks_only(their, our) for our in ours) for their in theirs)


def _lacks_only(their: Any, our: Any) -> bool:
    """The same value, or one in which some fields are not spoken of."""
    if their == our or their is None:
        return True
    if type(their) is not type(our) or not is_dataclass(their):
        return False
    return all(_lacks_only(getattr(their, f.name), getattr(our, f.name)) for f in fields(their))
