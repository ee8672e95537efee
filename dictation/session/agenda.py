"""What a person at the desk should look at: questions first, then doubts, flags, refusals."""

from __future__ import annotations

from dataclasses import dataclass

from dictation.session.breath import standing_of
from dictation.session.events import FINDINGS_AN_UTTERANCE, Inserted
from dictation.session.happenings import Flags
from dictation.session.visit import Fate, Query, Utterance, Visit
from grammar.exam import FindingState, Flag, Severity


@dataclass(frozen=True, slots=True)
class Matter:
    """One thing to look at: a question, a doubtful phrase, an animal's flags, or refused speech.

    ``exam``: where it belongs, None before the first animal. ``utterance``: None for flags.
    """

    exam: int | None
    utterance: int | None
    query: Query | None = None
    flags: tuple[Flag, ...] = ()

    @property
    def key(self) -> tuple[object, ...]:
        """What makes it the same matter after the visit has gone on."""
        return (self.exam if self.utterance is None else None, self.utterance, _id(self.query))


def _id(query: Query | None) -> str | None:
    return None if query is None else query.id


def agenda(visit: Visit, flags: Flags) -> tuple[Matter, ...]:
    """All that is left to look at, most urgent first; () when nothing is left."""
    asked = [Matter(q.exam, q.utterance, q) for q in visit.open_queries]
    done = {matter.utterance for matter in asked}
    doubtful = []
    for exam in visit.exams:
        for recorded in exam.standing:
            utterance = recorded.number // FINDINGS_AN_UTTERANCE
            if recorded.state is FindingState.QUERIED and utterance not in done:
                done.add(utterance)
                doubtful.append(Matter(exam.number, utterance))
    flagged = []
    for exam in visit.exams:
        if exam.number in visit.approved or visit.visit_approved:
            continue
        grave = tuple(f for f in flags.get(exam.number, ()) if f.severity is not Severity.NOTE)
        if grave:
            flagged.append(Matter(exam.number, None, None, grave))
    refused = [Matter(u.exam, u.number) for u in refused_speech(visit)]
    return (*asked, *doubtful, *flagged, *refused)


def refused_speech(visit: Visit) -> tuple[Utterance, ...]:
    """Utterances from which nothing was recorded and that nobody has taken up."""
    if visit.visit_approved:
        return ()
    taken_up = {
        deed.event.of_utterance
        for deed in visit.deeds
        if isinstance(deed.event, Inserted) and not deed.undone
    }
    return tuple(
        u
        for u in visit.utterances
        if u.fate is Fate.REFUSED
        and u.number not in taken_up
        and u.exam not in visit.approved
        and not standing_of(visit, u.number)
    )
