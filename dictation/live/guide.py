"""The sweep as a guide, not a nag: what was not spoken of is named once, when the animal is left.

"Right ovary not recorded." A 'not seen' or 'could not reach' said straight after it goes to the
animal that was left, even though the next one is in hand.
"""

from __future__ import annotations

from dictation.decide.understanding import Understanding
from dictation.live.events import Closed, Event, Found, Spoken, Unspoken
from dictation.live.session import Session
from dictation.visit.inputs import By, PhraseMoved
from dictation.visit.parts import Fate
from grammar.checks.sweep import unspoken_structures
from grammar.exam import Exam
from grammar.findings import Animal, Seen, SweepStructure
from grammar.wording import spaced

LEFT_FIRST = (
    SweepStructure.CERVIX,
    SweepStructure.BODY,
    SweepStructure.LEFT_HORN,
    SweepStructure.LEFT_OVARY,
    SweepStructure.RIGHT_HORN,
    SweepStructure.RIGHT_OVARY,
)
RIGHT_FIRST = (*LEFT_FIRST[:2], *LEFT_FIRST[4:], *LEFT_FIRST[2:4])
ORDERS = {"left-first": LEFT_FIRST, "right-first": RIGHT_FIRST}

WHO = "sweep guide"


class Guide:
    """Watches a session; ``order`` is the order in which the speaker sweeps."""

    def __init__(
        self,
        session: Session,
        understanding: Understanding,
        order: tuple[SweepStructure, ...] = LEFT_FIRST,
    ) -> None:
        self._session = session
        self._understanding = understanding
        self._order = order
        self._named_of: int | None = None

    def missing(self, exam: Exam) -> tuple[SweepStructure, ...]:
        """Stations not spoken of, if the animal was swept at all: a bare 'open' is no sweep."""
        unspoken = unspoken_structures(exam)
        if len(unspoken) == len(SweepStructure):
            return ()
        return tuple(structure for structure in self._order if structure in unspoken)

    def after(self, happened: tuple[Event, ...]) -> tuple[Event, ...]:
        """What the guide has to add to what a phrase did."""
        moved = self._answered(happened)
        if any(isinstance(e, Spoken) and e.phrase.fate is not Fate.REFUSED for e in happened):
            self._named_of, self._understanding.named = None, ()
        named: tuple[Event, ...] = ()
        for closed in (event for event in happened if isinstance(event, Closed)):
            named = self._name(closed)
        return (*moved, *named)

    def _name(self, closed: Closed) -> tuple[Event, ...]:
        exam = self._session.visit.exam(closed.exam.number)
        missing = () if exam is None else self.missing(exam)
        if exam is None or not missing:
            return ()
        self._named_of, self._understanding.named = exam.number, missing
        names = [spaced(structure) for structure in missing]
        whole = names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
        sentence = f"{whole[:1].upper()}{whole[1:]} not recorded."
        return (Unspoken(sentence, exam.number, tuple(str(s) for s in missing), closed.at),)

    def _answered(self, happened: tuple[Event, ...]) -> tuple[Event, ...]:
        """'Not seen' straight after the naming belongs to the animal before."""
        spoken = [event.phrase for event in happened if isinstance(event, Spoken)]
        if self._named_of is None or not spoken:
            return ()
        phrase = spoken[-1]
        placed = [event.placed for event in happened if isinstance(event, Found)]
        found = [p.recorded.finding for p in placed if p.recorded.phrase == phrase.number]
        named = self._understanding.named
        remarks = [f for f in found if isinstance(f, Seen) and f.structure in named]
        if not remarks or len(remarks) != len(found) or phrase.exam == self._named_of:
            return ()
        exam = self._session.visit.exam(phrase.exam)
        others = () if exam is None else exam.standing
        if any(not isinstance(r.finding, Animal | Seen) for r in others):
            return ()
        why = "said straight after these stations were named as not recorded"
        return self._session.take(PhraseMoved(phrase.number, self._named_of), By(WHO, why))
