"""'Make that twenty-four', 'no, right', 'correction, left ovary CL twenty-four'.

A change is made at once only where there is one thing it can mean. Otherwise it is asked.
"""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass, replace

from dictation.session.animal import record
from dictation.session.asking import ask, either
from dictation.session.breath import Breath, standing_of
from dictation.session.effects import Alternative, SetTo
from dictation.session.exams import set_value
from dictation.session.undo import base_of, last_that_did
from dictation.session.visit import Visit
from grammar.exam import FindingState, RecordedFinding
from grammar.findings import (
    Command,
    Conceptus,
    Condition,
    FetalSex,
    Finding,
    History,
    Landmark,
    Measurement,
    Ovary,
    Plan,
    Pregnancy,
    Said,
    Seen,
    Side,
    StatedAs,
    SweepStructure,
    Uterus,
    Viability,
)
from grammar.wording import written

NUMBERS: dict[type, tuple[str, ...]] = {
    Ovary: ("size_mm", "second_size_mm", "cavity_mm", "wall_mm"),
    Uterus: ("depth_mm",),
    Pregnancy: ("age_days", "age_to_days"),
    Conceptus: ("count",),
    Measurement: ("size_mm",),
    Condition: ("score",),
    Plan: ("in_days",),
    History: ("days_ago",),
}
"""The numbers of a finding that 'make that' can replace."""

_WHOLE = frozenset({"age_days", "age_to_days", "count", "in_days", "days_ago"})

UNLIKE_FACTOR = 3.0
"""A new number this many times the old, or less than its inverse, is asked about: the unit may be
another (centimetres or weeks for millimetres or days). Lower asks more often."""

_MIRRORED: dict[SweepStructure, dict[Side, SweepStructure]] = {
    SweepStructure.LEFT_HORN: {Side.RIGHT: SweepStructure.RIGHT_HORN},
    SweepStructure.RIGHT_HORN: {Side.LEFT: SweepStructure.LEFT_HORN},
    SweepStructure.LEFT_OVARY: {Side.RIGHT: SweepStructure.RIGHT_OVARY},
    SweepStructure.RIGHT_OVARY: {Side.LEFT: SweepStructure.LEFT_OVARY},
}

MEANT_BY_KIND: dict[type, tuple[str, ...]] = {
    Ovary: ("side",),
    Uterus: ("side",),
    Measurement: ("quantity", "fetus"),
    FetalSex: ("fetus",),
    Viability: ("fetus",),
    Landmark: ("name", "fetus"),
    Seen: ("structure",),
    Plan: ("action",),
    History: ("event",),
}
"""What must be equal, beside the type, for a corrected finding to stand for the earlier one."""


def change_number(visit: Visit, breath: Breath, number: float) -> Visit:
    """Replace the last number said."""
    latest = _latest(visit, breath)
    changes = _with_number(latest[-1], number) if latest else []
    if not changes:
        changes = [change for r in latest for change in _with_number(r, number)]
    if not changes:
        return _nothing(visit, breath, "There is no number to change.")
    if len(changes) == 1 and changes[0].likely:
        return set_value(visit, changes[0].number, changes[0].finding, heard=breath.text)
    why = "more than one number can be meant" if len(changes) > 1 else "the numbers are far apart"
    options = tuple(((change.number, change.finding),) for change in changes)
    return _ask_changes(visit, breath, options, why)


def change_side(visit: Visit, breath: Breath, side: Side) -> Visit:
    """Replace the last side said. Findings that shared it may each be meant, so that is asked."""
    changes = []
    latest = _latest(visit, breath)
    # Not only what was changed last: a side is said once for all findings of its breath.
    shared = standing_of(visit, base_of(latest[-1].number)) if latest else ()
    for recorded in shared:
        changed = _on_side(recorded.finding, side)
        if changed is not None and changed != recorded.finding:
            changes.append((recorded.number, changed))
    if not changes:
        return _nothing(visit, breath, f"There is no side to change to {side}.")
    if len(changes) == 1:
        return set_value(visit, *changes[0], heard=breath.text)
    options = (tuple(changes), (changes[-1],))
    return _ask_changes(visit, breath, options, "several findings share the side")


def correct(visit: Visit, breath: Breath, said: tuple[Said, ...]) -> Visit:
    """Each finding takes the place of the one of its kind and side that was said last."""
    if not said:
        return _nothing(visit, breath, "Say the correction in one breath: 'correction, CL 24'.")
    for each in said:
        if not isinstance(each.what, Command):
            visit = _correct_one(visit, breath, each.what, each.words)
    return visit


def _correct_one(visit: Visit, breath: Breath, finding: Finding, words: str) -> Visit:
    exam = visit.exam_in_hand
    same = [r for r in exam.standing if _stands_for(r.finding, finding)] if exam else []
    closest = _closest(same, finding)
    if closest is not None:
        return set_value(visit, closest.number, finding, heard=breath.text)
    # It fits nothing, or more than one: recorded as asked about, and nothing is replaced unasked.
    visit = record(visit, replace(breath, sure=False), finding, words)
    exam = visit.exam_in_hand
    assert exam is not None
    added = exam.recorded[-1]
    candidates = same or [
        r for r in exam.standing if type(r.finding) is type(finding) and r.number != added.number
    ]
    alternatives = [
        Alternative(
            f"{written(finding)} instead of {written(r.finding)}",
            SetTo(((added.number, finding),), withdraw=(r.number,)),
        )
        for r in candidates[-3:]
    ]
    alternatives.append(
        Alternative(f"{written(finding)} as well", SetTo(((added.number, finding),)))
    )
    why = "the correction can mean more than one finding" if same else "nothing like it was said"
    question = either(tuple(alternatives))
    return ask(visit, breath.utterance, question, why, tuple(alternatives))


def _closest(same: list[RecordedFinding], finding: Finding) -> RecordedFinding | None:
    """The one finding that is meant, or None where that is not sure."""
    if isinstance(finding, Ovary):
        alike = [
            r
            for r in same
            if isinstance(r.finding, Ovary) and r.finding.structure is finding.structure
        ]
        same = alike or same
    if isinstance(finding, Uterus) and len(same) > 1:
        alike = [
            r for r in same if isinstance(r.finding, Uterus) and r.finding.state is finding.state
        ]
        same = alike or same
    return same[0] if len(same) == 1 else None


def _stands_for(before: Finding, after: Finding) -> bool:
    if type(before) is not type(after):
        return False
    names = MEANT_BY_KIND.get(type(before), ())
    return all(getattr(before, name) == getattr(after, name) for name in names)


def _latest(visit: Visit, breath: Breath) -> tuple[RecordedFinding, ...]:
    """Findings of this breath so far, or those of the last utterance of the animal in hand."""
    now = standing_of(visit, breath.utterance)
    if now:
        return now
    last = last_that_did(visit, visit.in_hand)
    if last is None:
        return ()
    found = (visit.recorded(touch.number) for touch in last.touched)
    return tuple(r for r in found if r is not None and r.state is not FindingState.WITHDRAWN)


@dataclass(frozen=True, slots=True)
class _NumberChange:
    number: int
    finding: Finding
    likely: bool


def _with_number(recorded: RecordedFinding, number: float) -> list[_NumberChange]:
    finding = recorded.finding
    changes: list[_NumberChange] = []
    for name in NUMBERS.get(type(finding), ()):
        old = getattr(finding, name)
        whole = name in _WHOLE
        if old is None or (whole and not float(number).is_integer()):
            continue
        value = int(number) if whole else float(number)
        changed = _with_field(finding, name, value)
        changes.append(_NumberChange(recorded.number, changed, _likely(finding, old, number)))
    return changes


def _with_field(finding: Finding, name: str, value: float) -> Finding:
    fields = {field.name: getattr(finding, field.name) for field in dataclasses.fields(finding)}
    return type(finding)(**{**fields, name: value})


def _likely(before: Finding, old: float, number: float) -> bool:
    if isinstance(before, Pregnancy) and before.stated_as in (StatedAs.WEEKS, StatedAs.MONTHS):
        return False
    if old <= 0 or number <= 0:
        return False
    return 1 / UNLIKE_FACTOR < number / old < UNLIKE_FACTOR


def _on_side(finding: Finding, side: Side) -> Finding | None:
    if isinstance(finding, Seen):
        mirrored = _MIRRORED.get(finding.structure, {}).get(side)
        return None if mirrored is None else dataclasses.replace(finding, structure=mirrored)
    if isinstance(finding, Ovary | Uterus | Pregnancy) and finding.side is not None:
        return dataclasses.replace(finding, side=side)
    return None


def _ask_changes(
    visit: Visit,
    breath: Breath,
    options: tuple[tuple[tuple[int, Finding], ...], ...],
    why: str,
) -> Visit:
    alternatives = tuple(
        Alternative(" and ".join(written(finding) for _, finding in option), SetTo(option))
        for option in options
    )
    return ask(visit, breath.utterance, either(alternatives), why, alternatives)


def _nothing(visit: Visit, breath: Breath, sentence: str) -> Visit:
    return ask(visit, breath.utterance, sentence, f"'{breath.text}' fits nothing said before")
