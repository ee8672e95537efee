"""A visit to which step after step is said and done: by voice, keys, desk and page."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from dictation.decide import decide
from dictation.decide.people.orders import About, order
from dictation.decide.taking_back import last_to_redo, last_to_undo
from dictation.errors import WrongUseError
from dictation.visit.apply import after
from dictation.visit.facts import (
    Captured,
    Gap,
    Happened,
    HerdListed,
    Listened,
    RecordingFinished,
    RecordingOpened,
    Spoke,
    VisitOpened,
)
from dictation.visit.inputs import (
    INPUTS,
    By,
    Deed,
    EntryTakenBack,
    Input,
    Noted,
    PhrasesJoined,
    VisitClosed,
)
from dictation.visit.state import Act, Visit
from dictation.visit.words import phrase_of
from grammar.exam import KnownAnimal
from tests.decide.spoken import AT, ON, Chatter, Unsure, given_of

VOICE = By("voice")

HERD = HerdListed(
    "d" * 64,
    "farm.csv",
    (KnownAnimal("837", "276000312312345", parity=3), KnownAnimal("2605"), KnownAnimal("900")),
)
OTHER_HERD = HerdListed("e" * 64, "later.csv", (KnownAnimal("412"), KnownAnimal("837", parity=4)))


@dataclass(frozen=True, slots=True)
class Beside:
    """What happens beside speech, told by its kind; its numbers follow from the visit."""

    kind: str


@dataclass(frozen=True, slots=True)
class Asked:
    """What a person asks for, by key, line or click."""

    name: str
    about: About
    text: str


Step = str | Unsure | Chatter | Beside | Deed | Asked


class Course:
    """A visit as step after step is decided and applied; ``given`` is what came in, by entry."""

    def __init__(self, steps: Iterable[Step] = ()) -> None:
        self.visit = Visit()
        self.given: list[tuple[Input, By]] = []
        self.states: list[Visit] = [self.visit]
        self.steps: list[Step] = []
        self.take(Noted(VisitOpened(ON)))
        for step in steps:
            self.step(step)

    def __repr__(self) -> str:
        return f"Course({self.steps})"

    def take(self, given: Input, by: By = VOICE) -> Act:
        """One entry."""
        seq = self.visit.last_seq + 1
        facts = decide(self.visit, given, by, AT)
        act = Act(seq, AT, INPUTS[type(given)], by.who, by.why, phrase_of(given), facts)
        self.visit = after(self.visit, act)
        self.given.append((given, by))
        self.states.append(self.visit)
        return act

    def step(self, step: Step) -> Act | None:
        """One step, as far as it can be taken; what a person may not do is refused."""
        self.steps.append(step)
        given = self._come_in(step)
        if given is None:
            return None
        spoken = isinstance(step, str | Unsure | Chatter | Beside)
        return self.take(given, VOICE if spoken else By("anna"))

    def _come_in(self, step: Step) -> Input | None:
        if isinstance(step, str | Unsure | Chatter):
            return given_of(self.visit, step)
        if isinstance(step, Beside):
            return self._beside(step.kind)
        if not isinstance(step, Asked):
            return step
        try:
            return order(self.visit, step.name, step.about, step.text).deed
        except WrongUseError:
            return None

    def _beside(self, kind: str) -> Input | None:
        visit = self.visit
        at_s = visit.audio_until_s + 1.0
        number = visit.given.phrase + 1
        if kind == "joined":
            return PhrasesJoined(number - 2, number - 1, number, at_s, at_s + 2.0)
        if kind == "closed":
            return VisitClosed()
        happened: dict[str, Happened | None] = {
            "herd": HERD,
            "other herd": OTHER_HERD,
            "captured": Captured(number, at_s, at_s + 1.0),
            "gap": Gap(at_s, at_s + 3.0, "unplugged"),
            "listened": Listened(at_s),
            "spoke": Spoke("Forty or fourteen?", at_s, at_s + 1.5),
            "recording": RecordingOpened(f"r{len(visit.recordings)}", "morning.flac", at_s),
            "finished": next(
                (RecordingFinished(r.digest, at_s) for r in visit.recordings if not r.finished),
                None,
            ),
        }
        fact = happened[kind]
        return None if fact is None else Noted(fact)

    @property
    def acts(self) -> list[Act]:
        """Its entries in order."""
        return [self.visit.acts[seq] for seq in range(1, self.visit.last_seq + 1)]

    def undo(self) -> Act | None:
        """Take back the last thing that a person did."""
        last = last_to_undo(self.visit)
        return None if last is None else self.take(EntryTakenBack(last.seq), By("anna"))

    def redo(self) -> Act | None:
        """Do again what was taken back last."""
        last = last_to_redo(self.visit)
        return None if last is None else self.take(EntryTakenBack(last.seq), By("anna"))
