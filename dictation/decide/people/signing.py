"""Who stands for what: what bars an approval, what it would pass over, and how far a visit is."""

from __future__ import annotations

from collections.abc import Collection, Iterator

from dictation.decide.conflicts import changed_since_approved
from dictation.decide.people.agenda import Matter, agenda, doubt_who
from dictation.decide.record import Flags
from dictation.visit.parts import Approval
from dictation.visit.state import Visit
from grammar.checks import check_exam
from grammar.exam import Exam, Severity

MOST_NAMED = 5
"""Open matters named one by one before the rest is only counted."""


def flags_now(visit: Visit, exams: Collection[int]) -> Flags:
    """The flags of these exams as they are now, approved or not."""
    return {e.number: check_exam(e) for e in visit.exams if e.number in exams}


def bars(visit: Visit, exams: Collection[int], flags: Flags) -> tuple[str, ...]:
    """Why nobody can stand for these exams yet, a sentence each."""
    found = []
    for exam in (e for e in visit.exams if e.number in exams):
        doubt = doubt_who(visit, exam)
        if doubt is not None:
            found.append(f"{cow(exam)}: {doubt}.")
        stops = (f for f in flags.get(exam.number, ()) if f.severity is Severity.STOP)
        found += [f"{cow(exam)}: {flag.why}" for flag in stops]
    return tuple(found)


def passed_over(visit: Visit, exam: int | None, flags: Flags) -> tuple[Matter, ...]:
    """What is open of an exam, or of the visit (None), and an approval would pass over."""
    return tuple(m for m in agenda(visit, flags) if exam in (None, m.exam))


def sure_exams(visit: Visit, flags: Flags) -> tuple[int, ...]:
    """Exams nobody stands for yet of which nothing is open."""
    waiting = {matter.exam for matter in agenda(visit, flags)}
    return tuple(
        exam.number
        for exam in visit.exams
        if exam.approved is None and exam.number not in waiting and doubt_who(visit, exam) is None
    )


def told_open(visit: Visit, matters: tuple[Matter, ...]) -> str:
    """'2 open: tag 412, pregnant 40 or 50 days?; tag 519, flag: ...'."""
    named = "; ".join(_matter_words(visit, m) for m in matters[:MOST_NAMED])
    more = len(matters) - MOST_NAMED
    return f"{len(matters)} open: {named}{f'; and {more} more' if more > 0 else ''}"


def _matter_words(visit: Visit, matter: Matter) -> str:
    exam, phrase = visit.exam(matter.exam), visit.phrase(matter.phrase)
    who = "" if exam is None else f"{cow(exam).lower()}, "
    if matter.query is not None:
        return who + matter.query.question
    if matter.flags:
        return who + matter.flags[0].why.split(". ")[0].rstrip(".")
    return f"{who}'{'' if phrase is None else phrase.text}'"


def cow(exam: Exam) -> str:
    """The animal by the name that people call it."""
    return f"Tag {exam.tag}" if exam.tag else f"Exam {exam.number}"


def signed(visit: Visit, exam: int = 0, *, when: bool = False) -> str:
    """'approved by anna', and who changed it since; empty where nobody did. ``exam`` 0: the visit.

    ``when``: with the time, as ', 2026-11-28 14:05 UTC'.
    """
    approval = visit.approval(exam)
    if approval is None:
        return ""
    words = f"approved by {approval.stamp.who}{_when(visit, approval) if when else ''}"
    within = [e.number for e in visit.exams] if exam == 0 else [exam]
    changed = [number for number in within if not visit.is_approved(number)]
    if not changed:
        return words
    by = dict.fromkeys(who for each in changed for who in changed_since_approved(visit, each))
    return f"{words}, changed since{' by ' if by else ''}{' and '.join(by)}"


def _when(visit: Visit, approval: Approval) -> str:
    act = visit.acts.get(approval.seen + 1)
    at = "" if act is None else act.at[:16].replace("T", " ")
    return f", {at} UTC" if at else ""


def covers(exam: Exam) -> str:
    """What a stamp stands for: '6 findings, pregnant 45 days, due 2027-07-15, 1 flag seen'."""
    return ", ".join(_covered(exam))


def _covered(exam: Exam) -> Iterator[str]:
    stamp, findings = exam.approved, len(exam.standing)
    if stamp is None:
        return
    yield f"{findings} finding{'s' * (findings != 1)}"
    if stamp.age.age_days is not None:
        yield f"{stamp.age.age_days} days in calf"
    if stamp.age.due_date is not None:
        yield f"due {stamp.age.due_date.isoformat()}"
    grave = sum(flag.severity is not Severity.NOTE for flag in stamp.flags)
    if grave:
        yield f"{grave} flag{'s' * (grave != 1)} seen"
    if exam.open_queries:
        yield f"{len(exam.open_queries)} left open"


def standing(visit: Visit, flags: Flags) -> str:
    """How far a visit is, for every list and file that leaves: 'draft, 7 open' or by whom, when."""
    words, left = signed(visit, when=True), len(agenda(visit, flags))
    if visit.visit_approved:
        return f"{words}, {left} left open" if left else words
    approved = sum(exam.approved is not None for exam in visit.exams)
    some = f", {approved} of {len(visit.exams)} animals approved" if approved else ""
    return f"{'; '.join(filter(None, (words, f'draft, {left} open')))}{some}"
