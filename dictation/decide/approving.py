"""Standing for what was seen: the digest of an exam, and the figures it is approved with."""

from __future__ import annotations

from dataclasses import replace
from importlib.metadata import PackageNotFoundError, version

from dictation.decide.draft import Draft
from dictation.visit.facts import ApprovalSet
from dictation.visit.parts import Approval
from dictation.visit.words import digest_of
from grammar.checks import check_exam
from grammar.exam import Approved, Exam
from grammar.facts import facts_of
from grammar.figures import AgeSummary
from grammar.summary import reckoned


def approve(draft: Draft, exam: int | None, who: str) -> None:
    """A person stands for an exam as it is, or for every exam and the visit (None)."""
    visit = draft.visit
    for each in visit.exams:
        if exam in (None, each.number):
            _set(draft, each.number, _approval(draft, each, who))
    if exam is None:
        stamp = Approved(who, AgeSummary(), (), this_version())
        _set(draft, 0, Approval(visit.given.seq, "", stamp))


def this_version() -> str:
    """The version that reckons."""
    try:
        return version("hornsweep")
    except PackageNotFoundError:
        return "unknown"


def _approval(draft: Draft, exam: Exam, who: str) -> Approval:
    exam = replace(exam, approved=None)  # as it is now, not as it was approved before
    flags = check_exam(exam)
    stamp = Approved(who, reckoned(facts_of(exam)), flags, this_version())
    return Approval(draft.visit.given.seq, digest_of(exam, flags), stamp)


def _set(draft: Draft, exam: int, now: Approval) -> None:
    was = draft.visit.approval(exam)
    if was != now:
        draft.add(ApprovalSet(exam, was, now))
