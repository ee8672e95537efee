"""What of an exam is settled enough to act on or to send."""

from __future__ import annotations

from dataclasses import replace

from grammar.exam import Exam, FindingState
from grammar.findings import Animal, Pregnancy


def settled(exam: Exam) -> Exam:
    """The exam without what is still queried: a doubt is not passed on as a fact.

    Figures that it was approved with rest on the doubt too, so they are reckoned without it.
    """
    kept = tuple(r for r in exam.recorded if r.state is not FindingState.QUERIED)
    return exam if kept == exam.recorded else replace(exam, recorded=kept, approved=None)


def status_in_doubt(exam: Exam) -> bool:
    """Whether any word on pregnancy still waits for an answer."""
    return any(
        isinstance(r.finding, Pregnancy) and r.state is FindingState.QUERIED for r in exam.recorded
    )


def doubtful_identity(exam: Exam) -> str | None:
    """Why it is not certain which animal this was; None where it is."""
    if any(
        isinstance(r.finding, Animal) and r.state is FindingState.QUERIED for r in exam.standing
    ):
        return "which animal it was is not settled yet"
    if exam.tag_repeated_in:
        others = " and ".join(str(number) for number in exam.tag_repeated_in)
        return f"exam {others} carries the same tag"
    return None
