"""What of a visit the standard has no home for, or is not ready to be sent."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

from dictation.records.icar.diagnosis import is_condition
from grammar.findings import (
    FINDING_NAMES,
    Conceptus,
    Condition,
    FetalSex,
    Finding,
    Measurement,
    Note,
    Ovary,
    Plan,
    PlanAction,
    Pregnancy,
    Uterus,
)
from grammar.wording import spaced

KEPT_BACK = frozenset(
    {PlanAction.TREAT, PlanAction.CULL, PlanAction.DO_NOT_BREED, PlanAction.TERMINATE}
)
"""Plans that a receiver could take for something done or decided; advice is neither."""


CONDITION = spaced(FINDING_NAMES[Condition])


@dataclass(frozen=True, slots=True)
class LeftOut:
    """Something of one exam that is in no event. ``what`` in words, ``why`` in a clause."""

    exam: int
    tag: str | None
    what: str
    why: str


@dataclass(frozen=True, slots=True)
class OnlyInWords:
    """Kinds of findings that stand only in the remark and the extra property, and how many.

    ``due_dates``: how many expected calvings are known here and sent nowhere.
    """

    kinds: tuple[tuple[str, int], ...]
    due_dates: int = 0


def is_kept_back(finding: Finding) -> bool:
    """Whether a finding is never sent."""
    return isinstance(finding, Plan) and finding.action in KEPT_BACK


def kind_of(finding: Finding) -> str:
    """A finding's kind as a reader counts it: 'corpus luteum', 'crown rump length'."""
    if isinstance(finding, Ovary):
        return spaced(finding.structure)
    if isinstance(finding, Uterus):
        return f"uterus {spaced(finding.state)}"
    if isinstance(finding, Measurement):
        return spaced(finding.quantity)
    if isinstance(finding, Plan):
        return f"plan to {spaced(finding.action)}"
    return spaced(FINDING_NAMES[type(finding)])


def counted(findings: Iterable[Finding], due_dates: int = 0) -> OnlyInWords:
    """How many there are of each kind that the standard has no field for."""
    kinds = Counter(kind_of(f) for f in findings if not _has_a_field(f))
    return OnlyInWords(
        tuple(sorted(kinds.items(), key=lambda pair: (-pair[1], pair[0]))), due_dates
    )


def sentences(left: tuple[LeftOut, ...], words: OnlyInWords) -> tuple[str, ...]:
    """The report for a person, a line each."""
    lines = [f"Left out: {_whose(each)}: {each.what} ({each.why})." for each in left]
    if words.kinds:
        kinds = ", ".join(f"{kind} {count}" for kind, count in words.kinds)
        lines.append(
            f"No field of their own in the standard, so only in the remark and in ultrasoundExam:"
            f" {kinds}. All of it is in exams.csv and findings.csv."
        )
    if any(kind == CONDITION for kind, _ in words.kinds):
        lines.append(
            "Body condition is not sent as a conformation score: the standard's goes from 1 to 9"
            " and has no field for the scale that was said."
        )
    if words.due_dates:
        lines.append(
            f"Not sent: expected calving of {words.due_dates}. It is reckoned, not observed; the"
            " dates are in exams.csv, the list and the calendar."
        )
    return tuple(lines)


def _whose(each: LeftOut) -> str:
    return f"exam {each.exam}" if each.tag is None else f"exam {each.exam}, tag {each.tag}"


def _has_a_field(finding: Finding) -> bool:
    if isinstance(finding, Ovary | Uterus):
        return is_condition(finding)
    return isinstance(finding, Pregnancy | Conceptus | FetalSex | Note)
