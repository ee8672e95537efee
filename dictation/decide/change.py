"""'Make that twenty-four', 'no, right', 'correction, left ovary CL twenty-four'.

A change is made at once only where there is one thing it can mean. Otherwise it is asked.
"""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass, replace

from dictation.decide.breath import Breath, either, record
from dictation.decide.draft import Draft, standing_of
from dictation.decide.taking_back import last_that_did, touched_by
from dictation.visit.effects import Alternative, SetTo
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


def change_number(draft: Draft, breath: Breath, number: float) -> None:
    """Replace the last number said."""
    latest = _latest(draft, breath)
    changes = _with_number(latest[-1], number) if latest else []
    if not changes:
        changes = [change for r in latest for change in _with_number(r, number)]
    if not changes:
        _nothing(draft, breath, "There is no number to change.")
    elif len(changes) == 1 and changes[0].likely:
        draft.set_value(changes[0].number, changes[0].finding, heard=breath.text)
    else:
        several = "more than one number can be meant"
        why = several if len(changes) > 1 else "the numbers are far apart"
        options = tuple(((change.number, change.finding),) for change in changes)
        _ask_changes(draft, breath, options, why)


def change_side(draft: Draft, breath: Breath, side: Side) -> None:
    """Replace the last side said. Findings that shared it may each be meant, so that is asked."""
    changes = []
    latest = _latest(draft, breath)
    # Not only what was changed last: a side is said once for all findings of its breath.
    said_in = latest[-1].phrase if latest else None
    shared = latest if said_in is None else standing_of(draft.visit, said_in)
    for recorded in shared:
        changed = _on_side(recorded.finding, side)
        if changed is not None and changed != recorded.finding:
            changes.append((recorded.number, changed))
    if not changes:
        _nothing(draft, breath, f"There is no side to change to {side}.")
    elif len(changes) == 1:
        draft.set_value(*changes[0], heard=breath.text)
    else:
        options = (tuple(changes), (changes[-1],))
        _ask_changes(draft, breath, options, "several findings share the side")


def correct(draft: Draft, breath: Breath, said: tuple[Said, ...]) -> None:
    """Each finding takes the place of the one of its kind and side that was said last."""
    if not said:
        _nothing(draft, breath, "Say the correction in one breath: 'correction, CL 24'.")
    for each in said:
        if not isinstance(each.what, Command):
            _correct_one(draft, breath, each.what, each.words)


def _correct_one(draft: Draft, breath: Breath, finding: Finding, words: str) -> None:
    exam = draft.visit.exam_in_hand
    same = [r for r in exam.standing if _stands_for(r.finding, finding)] if exam else []
    closest = _closest(same, finding)
    if closest is not None:
        draft.set_value(closest.number, finding, heard=breath.text)
        return
    # It fits nothing, or more than one: recorded as asked about, and nothing is replaced unasked.
    added = record(draft, replace(breath, sure=False), finding, words)
    exam = draft.visit.exam_in_hand
    assert exam is not None
    candidates = same or [
        r for r in exam.standing if type(r.finding) is type(finding) and r.number != added
    ]
    alternatives = [
        Alternative(
            f"{written(finding)} instead of {written(r.finding)}",
            SetTo(((added, finding),), withdraw=(r.number,)),
        )
        for r in candidates[-3:]
    ]
    alternatives.append(Alternative(f"{written(finding)} as well", SetTo(((added, finding),))))
    why = "the correction can mean more than one finding" if same else "nothing like it was said"
    draft.ask(breath.phrase, either(tuple(alternatives)), why, tuple(alternatives))


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


def _latest(draft: Draft, breath: Breath) -> tuple[RecordedFinding, ...]:
    """Findings of this breath so far, or those of the last phrase of the animal in hand."""
    now = standing_of(draft.visit, breath.phrase)
    if now:
        return now
    last = last_that_did(draft.visit)
    numbers = () if last is None else touched_by(last)
    found = (draft.visit.recorded(number) for number in numbers)
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
    draft: Draft,
    breath: Breath,
    options: tuple[tuple[tuple[int, Finding], ...], ...],
    why: str,
) -> None:
    alternatives = tuple(
        Alternative(" and ".join(written(finding) for _, finding in option), SetTo(option))
        for option in options
    )
    draft.ask(breath.phrase, either(alternatives), why, alternatives)


def _nothing(draft: Draft, breath: Breath, sentence: str) -> None:
    draft.ask(breath.phrase, sentence, f"'{breath.text}' fits nothing said before")


def likeness(one: Finding, other: Finding) -> tuple[bool, int, bool]:
    """How likely one finding stands for another of its type; greater is likelier."""
    names = MEANT_BY_KIND.get(type(one), ())
    alike = sum(getattr(one, name) == getattr(other, name) for name in names)
    structure = getattr(one, "structure", None) == getattr(other, "structure", None)
    return one == other, alike, structure
