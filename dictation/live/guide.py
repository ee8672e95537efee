"""The sweep as a guide, not a nag: what was not spoken of is named once, when the animal is left.

"Right ovary not recorded." A 'not seen' or 'could not reach' said straight after it goes to the
animal that was left, even though the next one is in hand.
"""

from __future__ import annotations

from dictation.session.events import PhraseMoved
from dictation.session.happenings import Happening
from dictation.session.session import Session
from dictation.session.understanding import Understanding
from dictation.session.visit import Fate, Utterance
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

    def after(self, happened: tuple[Happening, ...]) -> tuple[Happening, ...]:
        """What the guide has to add to what an utterance did."""
        moved = self._answered(happened)
        if any(h.kind == "heard" and h.more["fate"] != Fate.REFUSED for h in happened):
            self._named_of, self._understanding.named = None, ()
        named: tuple[Happening, ...] = ()
        for closed in (h for h in happened if h.kind == "exam_closed"):
            named = self._name(closed)
        return (*moved, *named)

    def _name(self, closed: Happening) -> tuple[Happening, ...]:
        exam = self._session.visit.exam(int(str(closed.more["exam"])))
        missing = () if exam is None else self.missing(exam)
        if exam is None or not missing:
            return ()
        self._named_of, self._understanding.named = exam.number, missing
        names = [spaced(structure) for structure in missing]
        whole = names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
        sentence = f"{whole[:1].upper()}{whole[1:]} not recorded."
        more: dict[str, object] = {
            "exam": exam.number,
            "structures": [str(s) for s in missing],
        }
        return (Happening("guide", sentence, closed.at_s, closed.until_s, more=more),)

    def _answered(self, happened: tuple[Happening, ...]) -> tuple[Happening, ...]:
        """'Not seen' straight after the naming belongs to the animal before."""
        if self._named_of is None or not any(h.kind == "heard" for h in happened):
            return ()
        visit = self._session.visit
        utterance: Utterance = visit.utterances[-1]
        found = [t.after.finding for t in utterance.touched if t.before is None]
        named = self._understanding.named
        remarks = [f for f in found if isinstance(f, Seen) and f.structure in named]
        if not remarks or len(remarks) != len(found) or utterance.exam == self._named_of:
            return ()
        exam = visit.exam(utterance.exam)
        others = () if exam is None else exam.standing
        if any(not isinstance(r.finding, Animal | Seen) for r in others):
            return ()
        why = "said straight after these stations were named as not recorded"
        return self._session.take(PhraseMoved(utterance.number, self._named_of, WHO, why))
