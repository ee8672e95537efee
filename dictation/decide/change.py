"""'Make that twenty-four', 'no, right', 'correction, left ovary CL twenty-four'.

A change is made at once only where there is one thing it can mean. Otherwise it is asked.
"""

from __future__ import annotations

from dataclasses import replace

from dictation.decide.draft import Breath, Draft, record, standing_of
from dictation.decide.taking_back import last_that_did, touched_by
from dictation.visit.parts import Alternative, SetTo
from grammar.exam import FindingState, RecordedFinding
from grammar.fields import identity_of, main_of, numbers_of, on_side, with_value
from grammar.findings import Command, Finding, Pregnancy, Said, Side, StatedAs
from grammar.wording import either, written

UNLIKE_FACTOR = 3.0
"""A new number this many times the old, or less than its inverse, is asked about: the unit may be
another (centimetres or weeks for millimetres or days). Lower asks more often."""


def change_number(draft: Draft, breath: Breath, number: float) -> None:
    """Replace the last number said."""
    latest = _latest(draft, breath)
    changes = _with_number(latest[-1], number) if latest else []
    if not changes:
        changes = [change for r in latest for change in _with_number(r, number)]
    if not changes:
        _nothing(draft, breath, "There is no number to change.")
    elif len(changes) == 1 and changes[0][2]:
        draft.set_value(*changes[0][:2], heard=breath.phrase.text)
    else:
        several = "more than one number can be meant"
        why = several if len(changes) > 1 else "the numbers are far apart"
        options = tuple(((number_of, finding),) for number_of, finding, _ in changes)
        _ask_changes(draft, breath, options, why)


def change_side(draft: Draft, breath: Breath, side: Side) -> None:
    """Replace the last side said. Findings that shared it may each be meant, so that is asked."""
    changes = []
    latest = _latest(draft, breath)
    # Not only what was changed last: a side is said once for all findings of its breath.
    said_in = latest[-1].phrase if latest else None
    shared = latest if said_in is None else standing_of(draft.visit, said_in)
    for recorded in shared:
        changed = on_side(recorded.finding, side)
        if changed is not None and changed != recorded.finding:
            changes.append((recorded.number, changed))
    if not changes:
        _nothing(draft, breath, f"There is no side to change to {side}.")
    elif len(changes) == 1:
        draft.set_value(*changes[0], heard=breath.phrase.text)
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
    same = (
        [r for r in exam.standing if identity_of(r.finding) == identity_of(finding)] if exam else []
    )
    closest = _closest(same, finding)
    if closest is not None:
        draft.set_value(closest.number, finding, heard=breath.phrase.text)
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
    draft.ask(breath.phrase.number, either(a.words for a in alternatives), why, tuple(alternatives))


def _closest(same: list[RecordedFinding], finding: Finding) -> RecordedFinding | None:
    """The one finding that is meant, or None where that is not sure."""
    alike = [r for r in same if main_of(r.finding) is main_of(finding)]
    same = alike or same
    return same[0] if len(same) == 1 else None


def _latest(draft: Draft, breath: Breath) -> tuple[RecordedFinding, ...]:
    """Findings of this breath so far, or those of the last phrase of the animal in hand."""
    now = standing_of(draft.visit, breath.phrase.number)
    if now:
        return now
    last = last_that_did(draft.visit)
    numbers = () if last is None else touched_by(last)
    found = (draft.visit.recorded(number) for number in numbers)
    return tuple(r for r in found if r is not None and r.state is not FindingState.WITHDRAWN)


def _with_number(recorded: RecordedFinding, number: float) -> list[tuple[int, Finding, bool]]:
    """What the finding may be with another number, and whether that is likely."""
    finding = recorded.finding
    return [
        (recorded.number, changed, _likely(finding, old, number))
        for field, old in numbers_of(finding)
        if (changed := with_value(finding, field.name, number)) is not None
    ]


def _likely(before: Finding, old: float, number: float) -> bool:
    if isinstance(before, Pregnancy) and before.stated_as in (StatedAs.WEEKS, StatedAs.MONTHS):
        return False
    if old <= 0 or number <= 0:
        return False
    return 1 / UNLIKE_FACTOR < number / old < UNLIKE_FACTOR


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
    draft.ask(breath.phrase.number, either(a.words for a in alternatives), why, alternatives)


def _nothing(draft: Draft, breath: Breath, sentence: str) -> None:
    draft.ask(breath.phrase.number, sentence, f"'{breath.phrase.text}' fits nothing said before")


def likeness(one: Finding, other: Finding) -> tuple[bool, int, bool]:
    """How likely one finding stands for another of its type; greater is likelier."""
    alike = sum(a == b for a, b in zip(identity_of(one), identity_of(other), strict=True))
    return one == other, alike, main_of(one) is main_of(other)
