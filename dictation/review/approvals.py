"""Who stands for an animal, and what has become of what they saw."""

from __future__ import annotations

import functools
from collections.abc import Iterable
from dataclasses import replace

from dictation.review.history import exams_of
from dictation.visit.facts import ApprovalSet
from dictation.visit.parts import Approval
from dictation.visit.state import Act
from grammar.exam import Exam
from grammar.facts import facts_of
from grammar.figures import AgeSummary
from grammar.summary import reckoned

_FIGURES = {"age_days": "age in days", "service_date": "served", "due_date": "due",
            "dry_off": "dry off"}  # fmt: skip
"""Figures of an approved exam that are compared, and their names."""


def changed_since(approval: Approval | None, acts: Iterable[Act]) -> str:
    """'approved by anna, changed since by ben'; empty where nobody ever approved.

    ``acts``: the entries that touched what was approved.
    """
    if approval is None:
        return ""
    later = (act for act in acts if act.seq > approval.seen + 1 and _changes(act))
    by = ", ".join(dict.fromkeys(act.who for act in later if act.who))
    return f"approved by {approval.stamp.who}, changed since{f' by {by}' if by else ''}"


def _changes(act: Act) -> bool:
    return any(exams_of(fact) for fact in act.facts if not isinstance(fact, ApprovalSet))


@functools.lru_cache(maxsize=4096)
def reckoned_otherwise(exam: Exam) -> str:
    """'approved with due 2027-08-01; reckoned now 2027-08-03'; empty where nothing differs."""
    if exam.approved is None:
        return ""
    then, now = exam.approved.age, reckoned(facts_of(replace(exam, approved=None)))
    others = [name for name in _FIGURES if getattr(then, name) != getattr(now, name)]
    if not others:
        return ""
    stood = ", ".join(f"{_FIGURES[name]} {_figure(then, name)}" for name in others)
    stands = ", ".join(_figure(now, name) for name in others)
    return f"approved with {stood}; reckoned now {stands}"


def _figure(age: AgeSummary, name: str) -> str:
    value = getattr(age, name)
    return "none" if value is None else str(value)
