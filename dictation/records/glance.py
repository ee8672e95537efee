"""A visit at a glance: the little that is read from two metres, for the terminal and the wall page.

The animal in hand, whether she is in calf, what was taken last, the one question, what stops. All
else is on the screens that people sit in front of.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from dictation.decide.record import Flags
from dictation.records.sweep import said_of
from dictation.visit.parts import Fate, Query
from dictation.visit.state import Visit
from grammar.exam import Exam, FindingState, Severity
from grammar.findings import Animal, Plan, Pregnancy, SweepStructure
from grammar.wording import spaced, written

NO_ANIMAL, NO_TAG = "NO ANIMAL", "NO TAG"

IN_A_WORD = {
    Fate.RECORDED: "RECORDED",
    Fate.COMMAND: "DONE",
    Fate.ASKED: "ASKED",
    Fate.NOTED: "NOTED",
    Fate.REFUSED: "NOT FOR US",
    Fate.PAUSED: "PAUSED",
    Fate.SILENT: "SILENT",
    Fate.JOINED: "JOINED",
    Fate.INSERTED: "TYPED IN",
}
"""What became of a phrase, in a word or two for the eye."""


@dataclass(frozen=True, slots=True)
class Mark:
    """A station of the sweep, and whether anything was said of it."""

    station: str
    said: bool


@dataclass(frozen=True, slots=True)
class Standing:
    """A finding of the animal in hand. ``asked``: whether it waits for an answer."""

    number: int
    words: str
    asked: bool


@dataclass(frozen=True, slots=True)
class Glance:
    """``tag``, ``status``: in the largest letters there are; ``detail``: what belongs to them.

    ``became``, ``words``: of the last phrase. ``more``: questions beside the one; ``flags``: of
    this animal that do not stop. ``stops``: what must be said twice, whole.
    """

    exam: int | None = None
    tag: str = NO_ANIMAL
    status: str = ""
    detail: str = ""
    became: str = ""
    words: str = ""
    question: Query | None = None
    more: int = 0
    flags: int = 0
    stops: tuple[str, ...] = ()
    marks: tuple[Mark, ...] = ()
    standing: tuple[Standing, ...] = ()


def glance(visit: Visit, flags: Flags, order: tuple[SweepStructure, ...]) -> Glance:
    """What is read of a visit now; the stations in the ``order`` in which they are swept."""
    exam, asked = visit.exam_in_hand, visit.asked
    became, words = _last(visit)
    if asked is not None and words == asked.question:
        words = ""  # it stands with its answers
    seen = Glance(
        became=became,
        words=words,
        question=asked,
        more=max(0, len(visit.open_of(visit.in_hand)) - 1),
        marks=tuple(Mark(spaced(s), exam is not None and bool(said_of(exam, s))) for s in order),
    )
    if exam is None:
        return seen
    raised = flags.get(exam.number, ())
    stops = tuple(flag.why for flag in raised if flag.severity is Severity.STOP)
    named = exam.tag is not None and bool(visit.numbers.named(exam.tag))
    status, detail = _status(exam, named, visit.going.note_awaited)
    return replace(
        seen,
        exam=exam.number,
        tag=exam.tag or NO_TAG,
        status=status,
        detail=detail,
        flags=len(raised) - len(stops),
        stops=stops,
        standing=tuple(
            Standing(r.number, written(r.finding), r.state is FindingState.QUERIED)
            for r in exam.standing
            if not isinstance(r.finding, Animal)
        ),
    )


def _status(exam: Exam, named: bool, note_awaited: bool) -> tuple[str, str]:
    """'PREGNANT' and '75 days right horn'; a question mark where it is asked about."""
    big: dict[str, None] = {}
    small: list[str] = []
    for recorded in exam.standing:
        finding, doubt = recorded.finding, "?" * (recorded.state is FindingState.QUERIED)
        if isinstance(finding, Pregnancy):
            big[f"{finding.status}{doubt}".upper()] = None
            small.append(written(finding).removeprefix(finding.status).strip())
        elif isinstance(finding, Plan):
            small.append(written(finding) + doubt)
    if exam.herd_list_given and exam.tag and not named:
        small.append("not on the list")
    if note_awaited:
        small.append("note: the next words are kept")
    return " / ".join(big), ", ".join(filter(None, small))


def _last(visit: Visit) -> tuple[str, str]:
    """What became of the last phrase, and the findings that were taken of it, or its words."""
    last = visit.last_phrase
    if last is None:
        return "", "Nothing was heard yet."
    if last.taken_back:
        return "TAKEN BACK", last.text
    taken = [
        written(placed.recorded.finding)
        for placed in visit.findings_of(last.number)
        if placed.recorded.state is not FindingState.WITHDRAWN
    ]
    if last.fate is Fate.RECORDED and taken:
        return IN_A_WORD[last.fate], "; ".join(taken)
    return IN_A_WORD[last.fate], visit.reply or last.text
