"""What a person at the desk should look at: questions first, then doubts, flags, refusals."""

from __future__ import annotations

from dataclasses import dataclass

from dictation.decide.draft import standing_of
from dictation.decide.record import Flags
from dictation.decide.taking_back import is_taken_back
from dictation.visit.inputs import INPUTS, PhraseInserted
from dictation.visit.parts import Fate, Phrase, Query
from dictation.visit.state import Visit
from grammar.exam import FindingState, Flag, Severity


@dataclass(frozen=True, slots=True)
class Matter:
    """One thing to look at: a question, a doubtful phrase, an animal's flags, or refused speech.

    ``exam``: where it belongs, None before the first animal. ``phrase``: None for flags.
    """

    exam: int | None
    phrase: int | None
    query: Query | None = None
    flags: tuple[Flag, ...] = ()

    @property
    def key(self) -> tuple[object, ...]:
        """What makes it the same matter after the visit has gone on."""
        query = None if self.query is None else self.query.id
        return (self.exam if self.phrase is None else None, self.phrase, query)


def agenda(visit: Visit, flags: Flags) -> tuple[Matter, ...]:
    """All that is left to look at, most urgent first; () when nothing is left."""
    asked = [Matter(q.exam, q.phrase, q) for q in visit.open_queries]
    done = {matter.phrase for matter in asked}
    doubtful = []
    for exam in visit.exams:
        for recorded in exam.standing:
            if recorded.state is FindingState.QUERIED and recorded.phrase not in done:
                done.add(recorded.phrase)
                doubtful.append(Matter(exam.number, recorded.phrase))
    flagged = []
    for number in (exam.number for exam in visit.exams if exam.approved is None):
        grave = tuple(f for f in flags.get(number, ()) if f.severity is not Severity.NOTE)
        if grave:
            flagged.append(Matter(number, None, None, grave))
    refused = [Matter(p.exam, p.number) for p in refused_speech(visit)]
    return (*asked, *doubtful, *flagged, *refused)


def refused_speech(visit: Visit) -> tuple[Phrase, ...]:
    """Phrases from which nothing was recorded and that nobody has taken up."""
    if visit.visit_approved:
        return ()
    refused = [p for p in visit.phrases if p.fate is Fate.REFUSED]
    if not refused:
        return ()
    inserted = (act for act in visit.acts.values() if act.kind == INPUTS[PhraseInserted])
    taken_up = {act.phrase for act in inserted if not is_taken_back(visit, act.seq)}
    return tuple(
        p
        for p in refused
        if p.number not in taken_up
        and not (p.exam is not None and visit.is_approved(p.exam))
        and not standing_of(visit, p.number)
    )
