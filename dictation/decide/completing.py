"""What completes the phrase before: its size, its age, its side, said behind a pause."""

from __future__ import annotations

from dataclasses import replace

from dictation.decide.change import ask_changes, nothing_fits, said_last
from dictation.decide.draft import Breath, Draft
from dictation.decide.taking_back import last_that_did, touched_by
from dictation.visit.state import Visit
from grammar.exam import FindingState
from grammar.fields import with_value
from grammar.findings import (
    Command,
    Finding,
    Ovary,
    Pregnancy,
    PregnancyStatus,
    Side,
    UterineState,
    Uterus,
)
from grammar.plausible import of_ovary

_WITH_DEPTH = frozenset(
    {
        UterineState.FLUID,
        UterineState.CLOUDY_FLUID,
        UterineState.PYOMETRA,
        UterineState.MUCOMETRA,
    }
)


def wanting(visit: Visit) -> tuple[Finding, ...]:
    """What was surely found by the last phrase of the animal in hand, the last first."""
    last = last_that_did(visit)
    numbers = () if last is None else touched_by(last)
    found = (visit.recorded(number) for number in reversed(numbers))
    sure = (FindingState.ACCEPTED, FindingState.CORRECTED)
    return tuple(r.finding for r in found if r is not None and r.state in sure)


def wants_side(finding: Finding | Command) -> bool:
    """Whether something was found of which no side was said."""
    carried = isinstance(finding, Pregnancy) and finding.status is PregnancyStatus.PREGNANT
    lies = isinstance(finding, Ovary | Uterus) and _sizable(finding)
    return (carried or lies) and getattr(finding, "side", None) is None


def wants_size(finding: Finding) -> bool:
    """Whether something that is measured was found and not measured."""
    name = _size_of(finding)
    return name is not None and getattr(finding, name) is None and _sizable(finding)


def wants_age(finding: Finding) -> bool:
    """Whether a pregnancy has no age yet."""
    if not isinstance(finding, Pregnancy) or finding.stage is not None:
        return False
    return finding.status is PregnancyStatus.PREGNANT and finding.age_days is None


def give(draft: Draft, breath: Breath, size_mm: float | None, side: Side | None) -> None:
    """A size or a side said by itself is that of what was just named, where that has none."""
    last = [(r.number, _given(r.finding, size_mm, side)) for r in said_last(draft, breath)]
    options = [(number, given) for number, given in last if given is not None]
    lacks = "side" if size_mm is None else "size"
    if not options:
        nothing_fits(draft, breath, f"There is nothing without a {lacks} to which this belongs.")
    elif len(options) == 1:
        _complete(draft, breath, *options[0])
    else:
        each = tuple((option,) for option in options)
        ask_changes(draft, breath, each, f"several findings have no {lacks} yet")


def _given(finding: Finding, size_mm: float | None, side: Side | None) -> Finding | None:
    """The finding with its size and side; None where it wants none, or lies elsewhere."""
    its_side = getattr(finding, "side", None)
    if not (wants_side(finding) if size_mm is None else wants_size(finding)):
        return None
    if None not in (side, its_side) and side is not its_side:
        return None
    given = finding if size_mm is None else sized(finding, size_mm)
    if side is not None and isinstance(given, Ovary | Uterus | Pregnancy):
        given = replace(given, side=side)
    return given


def sized(finding: Finding, size_mm: float) -> Finding | None:
    """The finding with its size; None where it has none, or only a whole one fits."""
    name = _size_of(finding)
    return None if name is None else with_value(finding, name, size_mm)


def gives_age(draft: Draft, breath: Breath, finding: Finding) -> bool:
    """'Fifty days' said by itself, where the last phrase found a pregnancy without an age."""
    alone = breath.sure and draft.visit.phrase(breath.phrase.number) is None
    if not isinstance(finding, Pregnancy) or not finding.status_assumed or not alone:
        return False
    if finding.age_days is None:
        return False
    wants = [r for r in said_last(draft, breath) if wants_age(r.finding)]
    was = wants[0].finding if len(wants) == 1 else None
    if not isinstance(was, Pregnancy) or (finding.side and was.side not in (None, finding.side)):
        return False
    kept = replace(finding, status_assumed=was.status_assumed, side=finding.side or was.side)
    _complete(draft, breath, wants[0].number, kept)
    return True


def _complete(draft: Draft, breath: Breath, number: int, finding: Finding) -> None:
    """What was asked about is asked about still."""
    recorded = draft.visit.recorded(number)
    assert recorded is not None
    if recorded.state is FindingState.QUERIED:
        words = f"{recorded.heard}; {breath.phrase.text}"
        draft.change(number, finding=finding, heard=words)
    else:
        draft.set_value(number, finding, heard=breath.phrase.text)


def _size_of(finding: Finding) -> str | None:
    return {Ovary: "size_mm", Uterus: "depth_mm"}.get(type(finding))


def _sizable(finding: Finding) -> bool:
    if isinstance(finding, Ovary):
        return finding.count != 0 and of_ovary(finding) is not None
    return isinstance(finding, Uterus) and finding.state in _WITH_DEPTH
