"""'Make that twenty-four', 'no, right', 'correction, left ovary CL twenty-four'.

A change is made at once only where there is one thing it can mean. Otherwise it is asked.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import TypeAlias

from dictation.decide.draft import Breath, Draft, record, standing_of
from dictation.decide.tags import retag
from dictation.decide.taking_back import last_that_did, touched_by
from dictation.visit.parts import Alternative, QueryState, SetTo
from grammar.exam import FindingState, RecordedFinding
from grammar.fields import identity_of, main_of, numbers_of, on_side, with_value
from grammar.findings import (
    Animal,
    Command,
    Finding,
    Note,
    Pregnancy,
    Said,
    Seen,
    Side,
    StatedAs,
)
from grammar.numbers import DAYS_IN_MONTH, DAYS_IN_WEEK
from grammar.wording import either, written

_Change: TypeAlias = tuple[int, Finding, bool]
"""The number of a finding, the finding changed, and whether that is likely."""
_DAYS_IN = {StatedAs.WEEKS: DAYS_IN_WEEK, StatedAs.MONTHS: DAYS_IN_MONTH}
UNLIKE_FACTOR = 3.0
"""A new number this many times the old, or less than its inverse, is asked about: the unit may be
another (centimetres or weeks for millimetres or days). Lower asks more often."""


def change_number(
    draft: Draft, breath: Breath, number: float, instead_of: float | None = None
) -> None:
    """Replace the last number said, or the one that was wrong ("sixteen, not sixty")."""
    latest = said_last(draft, breath)
    if instead_of is not None:
        exam = draft.visit.exam_in_hand
        every = (latest, exam.standing if exam else ())
        found = (_wrong_numbers(some, number, instead_of) for some in every)
        changes = next(filter(None, found), [])
        recorded = draft.visit.recorded(changes[0][0]) if len(changes) == 1 else None
        if recorded is not None:
            _put_right(draft, breath, recorded, changes[0][1])
        else:
            _settle_changes(draft, breath, changes)
        return
    changes = _with_number(latest[-1], number) if latest else []
    if not changes:
        changes = [change for r in latest for change in _with_number(r, number)]
    _settle_changes(draft, breath, changes)


def _settle_changes(draft: Draft, breath: Breath, changes: list[_Change]) -> None:
    if not changes:
        nothing_fits(draft, breath, "There is no number to change.")
    elif len(changes) == 1 and changes[0][2]:
        draft.set_value(*changes[0][:2], heard=breath.phrase.text)
    else:
        several = "more than one number can be meant"
        why = several if len(changes) > 1 else "the numbers are far apart"
        options = tuple(((number_of, finding),) for number_of, finding, _ in changes)
        ask_changes(draft, breath, options, why)


def _wrong_numbers(
    recorded: Iterable[RecordedFinding], number: float, wrong: float
) -> list[_Change]:
    """The numbers that are the wrong one, in the unit in which they were said, put right."""
    found: list[_Change] = []
    for each in recorded:
        finding = each.finding
        unit = finding.stated_as if isinstance(finding, Pregnancy) else None
        factor = _DAYS_IN.get(unit, 1) if unit is not None else 1
        for row, old in numbers_of(finding):
            changed = with_value(finding, row.name, number * factor)
            if old == wrong * factor and changed is not None:
                found.append((each.number, changed, True))
    return found


def turned(finding: Finding, side: Side | None) -> Finding | None:
    """The finding on that side; for None on the other one, where it lies on one."""
    if side is not None:
        return on_side(finding, side)
    left, right = (on_side(finding, each) for each in (Side.LEFT, Side.RIGHT))
    return {finding == left: right, finding == right: left}.get(True)


def change_side(draft: Draft, breath: Breath, side: Side | None) -> None:
    """Replace the last side said; None: by the other one. Findings that shared it may each be
    meant, so that is asked."""
    changes = []
    latest = said_last(draft, breath)
    # Not only what was changed last: a side is said once for all findings of its breath.
    said_in = latest[-1].phrase if latest else None
    shared = latest if said_in is None else standing_of(draft.visit, said_in)
    for recorded in shared:
        changed = turned(recorded.finding, side)
        if changed is not None and changed != recorded.finding:
            changes.append((recorded.number, changed))
    if not changes:
        nothing_fits(draft, breath, f"There is no side to change to {side or 'the other'}.")
    elif len(changes) == 1:
        draft.set_value(*changes[0], heard=breath.phrase.text)
    else:
        options = (tuple(changes), (changes[-1],))
        ask_changes(draft, breath, options, "several findings share the side")


def correct(draft: Draft, breath: Breath, said: tuple[Said, ...]) -> None:
    """Each finding takes the place of the one of its kind and side that was said last.

    A station alone ("no, left ovary") says on which side it was.
    """
    station = said[0].what if len(said) == 1 else None
    if isinstance(station, Seen) and station.remark is None and "_" in station.structure:
        change_side(draft, breath, Side(station.structure.split("_")[0]))
        return
    if not said:
        nothing_fits(draft, breath, "Say the correction in one breath: 'correction, CL 24'.")
    for each in said:
        if isinstance(each.what, Animal):
            retag(draft, breath, each.what)
        elif not isinstance(each.what, Command):
            _correct_one(draft, breath, each.what, each.words)


def _correct_one(draft: Draft, breath: Breath, finding: Finding, words: str) -> None:
    exam = draft.visit.exam_in_hand
    same = (
        [r for r in exam.standing if identity_of(r.finding) == identity_of(finding)] if exam else []
    )
    closest = _closest(same, finding)
    if closest is not None:
        _put_right(draft, breath, closest, _put_into(closest.finding, finding))
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


def _put_right(draft: Draft, breath: Breath, recorded: RecordedFinding, finding: Finding) -> None:
    """Set what was wrong; where that alone of its phrase was asked about, it is answered."""
    phrase, asked = recorded.phrase, recorded.state is FindingState.QUERIED
    draft.set_value(recorded.number, finding, heard=breath.phrase.text)
    if not asked or phrase is None:
        return
    said = [r for r in standing_of(draft.visit, phrase) if not isinstance(r.finding, Note)]
    if len(said) == 1:
        draft.settle_of(phrase, QueryState.ANSWERED, breath.phrase.text)


def _put_into(was: Finding, finding: Finding) -> Finding:
    """What stands after a correction: an age alone leaves status and side as they were said."""
    if not isinstance(was, Pregnancy) or not isinstance(finding, Pregnancy):
        return finding
    if was.status is finding.status and finding == Pregnancy(finding.status):
        return was
    if not finding.status_assumed or was.status is not finding.status:
        return finding
    side = finding.side or was.side
    kept = replace(finding, status_assumed=was.status_assumed, side=side, stage=was.stage)
    return kept if finding.age_days is not None else replace(was, side=side)


def _closest(same: list[RecordedFinding], finding: Finding) -> RecordedFinding | None:
    """The one finding that is meant, or None where that is not sure."""
    alike = [r for r in same if main_of(r.finding) is main_of(finding)]
    same = alike or same
    return same[0] if len(same) == 1 else None


def said_last(draft: Draft, breath: Breath) -> tuple[RecordedFinding, ...]:
    """Findings of this breath so far, or those of the last phrase of the animal in hand."""
    now = standing_of(draft.visit, breath.phrase.number)
    if now:
        return now
    last = last_that_did(draft.visit, but=breath.phrase.number)
    numbers = () if last is None else touched_by(last)
    found = (draft.visit.recorded(number) for number in numbers)
    return tuple(r for r in found if r is not None and r.state is not FindingState.WITHDRAWN)


def _with_number(recorded: RecordedFinding, number: float) -> list[_Change]:
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


def ask_changes(
    draft: Draft,
    breath: Breath,
    options: tuple[tuple[tuple[int, Finding], ...], ...],
    why: str,
) -> None:
    """Which of these changes is meant: each is findings by number, and what they would be."""
    alternatives = tuple(
        Alternative(" and ".join(written(finding) for _, finding in option), SetTo(option))
        for option in options
    )
    draft.ask(breath.phrase.number, either(a.words for a in alternatives), why, alternatives)


def nothing_fits(draft: Draft, breath: Breath, sentence: str) -> None:
    """Ask about words that change or complete nothing that is there."""
    draft.ask(breath.phrase.number, sentence, f"'{breath.phrase.text}' fits nothing said before")


def likeness(one: Finding, other: Finding) -> tuple[bool, int, bool]:
    """How likely one finding stands for another of its type; greater is likelier."""
    alike = sum(a == b for a, b in zip(identity_of(one), identity_of(other), strict=True))
    return one == other, alike, main_of(one) is main_of(other)
