"""How far a visit is, for every list and file that leaves: a draft, or approved by whom, when."""

from __future__ import annotations

from dictation.decide.agenda import agenda
from dictation.decide.record import Flags
from dictation.visit.state import Visit


def standing(visit: Visit, flags: Flags) -> str:
    """'draft, 7 open', or 'approved by anna, 2026-11-18 14:05 UTC'."""
    left = len(agenda(visit, flags))
    approval = visit.approval(0)
    if approval is not None and visit.visit_approved:
        act = visit.acts.get(approval.seen + 1)
        at = "" if act is None else f", {act.at[:16].replace('T', ' ')} UTC"
        return f"approved by {approval.stamp.who}{at}{f', {left} left open' if left else ''}"
    approved = sum(exam.approved is not None for exam in visit.exams)
    some = f", {approved} of {len(visit.exams)} animals approved" if approved else ""
    return f"draft, {left} open{some}"
