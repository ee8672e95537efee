"""Random courses of a visit: speech, keys, deeds of people and orders of the page, in any order."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import TypeVar

from hypothesis import strategies as st

from dictation.decide import decide
from dictation.decide.orders import ORDERS, About, order
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
    Choice,
    Deed,
    EntryTakenBack,
    ExamAdded,
    ExamApproved,
    ExamsMerged,
    ExamSplit,
    FindingChanged,
    FindingWithdrawn,
    Input,
    Noted,
    PhraseHeardAgain,
    PhraseInserted,
    PhraseMoved,
    PhrasePutRight,
    PhrasesJoined,
    QueryAnswered,
    TagChanged,
    VisitClosed,
)
from dictation.visit.state import Act, Visit
from dictation.visit.words import phrase_of
from grammar.exam import KnownAnimal
from grammar.findings import Command, Said
from grammar.parse import parse
from tests.decide.spoken import AT, ON, Chatter, Unsure, given_of, sure

VOICE = By("voice")

SPOKEN: tuple[str | Unsure | Chatter, ...] = (
    "cow eight three seven",
    "cow four one two",
    "four one two",
    "next",
    "next cow two six oh five",
    "left ovary CL twenty-two, follicle nine",
    "right ovary CL ninety",
    "pregnant forty-five days in the left horn",
    "open",
    "twins",
    "scratch that",
    "make that twenty-four",
    "make that ninety",
    "no, right",
    "correction, left ovary CL eighteen",
    "yes",
    "no",
    "choice two",
    "pause",
    "resume",
    "take a note",
    "read back",
    "close",
    "close visit",
    sure("cow eight three seven", "cow eight three eight"),
    Unsure("next"),
    Unsure("scratch that"),
    Unsure("close"),
    Unsure("cow four one two", ("cow four one seven",)),
    Unsure("next cow four one two", ("left ovary CL twelve",)),
    Unsure("left ovary CL forty", ("left ovary CL fourteen",)),
    Unsure("pregnant forty days", ("pregnant fourteen days", "open")),
    Unsure("open", ("next, open",)),
    Unsure("cow four one two, open"),
    Chatter("did you see the match"),
)

HERD = HerdListed(
    "d" * 64,
    "farm.csv",
    (KnownAnimal("837", "276000312312345", parity=3), KnownAnimal("2605"), KnownAnimal("900")),
)
OTHER_HERD = HerdListed("e" * 64, "later.csv", (KnownAnimal("412"), KnownAnimal("837", parity=4)))

TYPED = (
    "l ov cl 24",
    "cow 417",
    "cow 837",
    "p 45 d",
    "l ov cl 22, f 9, tw",
    "1",
    "2",
    "837",
    "412",
    "exam 1",
    "exam 2",
    "visit",
    "",
)
"""What people type."""


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


def _said(text: str) -> tuple[Said, ...]:
    return parse(text, ON).said


_SAID = {text: _said(text) for text in ("left ovary CL twenty-four", "cow four one seven", "twins")}
_FINDINGS = tuple(
    each.what
    for text in ("left ovary CL twenty-four", "cow nine hundred", "open")
    for each in _said(text)
    if not isinstance(each.what, Command)
)

_TAGS = ("837", "900", "412")
UNDO, REDO = Asked("undo", About(), ""), Asked("redo", About(), "")
BESIDE = (
    "herd",
    "other herd",
    "captured",
    "gap",
    "listened",
    "spoke",
    "joined",
    "joined",
    "joined",
    "recording",
    "finished",
    "finished",
    "closed",
)


Thing = TypeVar("Thing")


class Picks:
    """Picks what comes next out of what is there, byte after byte: quicker than strategies are."""

    def __init__(self, code: bytes, visit: Visit) -> None:
        self._code = iter(code)
        self._visit = visit

    def of(self, *things: Thing) -> Thing:
        """One of these."""
        return things[next(self._code) % len(things)]

    def step(self) -> Step:
        """What comes next: half of it is speech."""
        return self.of(
            *[self._speech] * 5, *[self._deed] * 3, self._asked, self._back, self._beside
        )()

    def _speech(self) -> Step:
        return self.of(*SPOKEN)

    def _back(self) -> Step:
        return self.of(UNDO, UNDO, REDO)

    def _beside(self) -> Step:
        return Beside(self.of(*BESIDE))

    def _deed(self) -> Step:
        return self.of(*_DEEDS)(self)

    def _asked(self) -> Step:
        name, text = self.of(*sorted(ORDERS)), self.of(*TYPED)
        exam, phrase, query = self.exam(), self.phrase(), self.query()
        about = self.of(
            About(exam, phrase, query),
            About(exam, phrase, query, self.finding()),
            About(exam, entry=self.entry()),
        )
        return Asked(name, about, text)

    def _mostly(self, numbers: Iterable[int]) -> int:
        """One of these; now and then one that is not among them."""
        there = list(numbers)
        return self.of(*there, *there, *there, 99)

    def exam(self) -> int:
        """Number of an exam, or of none."""
        return self._mostly(exam.number for exam in self._visit.exams)

    def phrase(self) -> int:
        """Number of a phrase, or of none; those typed in are among them."""
        return self._mostly(sorted(self._visit.spoken))

    def finding(self) -> int:
        """Number of a finding, or of none; the withdrawn ones are among them."""
        return self._mostly(sorted(self._visit.index.places))

    def query(self) -> str:
        """Id of a question, or of none: mostly of an open one."""
        waiting = [query.id for query in self._visit.open_queries]
        return self.of(*waiting, *waiting, *(query.id for query in self._visit.queries), "u99")

    def entry(self) -> int:
        """Number of an entry, or of none."""
        number: int = self.of(*range(1, self._visit.last_seq + 2))
        return number

    def text(self) -> str:
        """What is typed."""
        return self.of(*_SAID)


_DEEDS: tuple[Callable[[Picks], Deed], ...] = (
    lambda p: FindingChanged(p.finding(), p.of(*_FINDINGS), p.of(*_FINDINGS)),
    lambda p: FindingWithdrawn(p.finding()),
    lambda p: QueryAnswered(p.query(), Choice.TAKE, p.of(1, 1, 2, 3, 0)),
    lambda p: QueryAnswered(p.query(), p.of(Choice.NONE_OF_THEM, Choice.SETTLED)),
    lambda p: _inserted(p.exam(), p.text(), p.of(None, p.phrase())),
    lambda p: PhraseMoved(p.phrase(), p.exam()),
    lambda p: ExamsMerged(p.exam(), p.exam()),
    lambda p: ExamSplit(p.exam(), p.phrase()),
    lambda p: TagChanged(p.exam(), p.of(*_TAGS)),
    lambda p: ExamApproved(p.of(None, p.exam(), p.exam())),
    lambda p: _put_right(p.phrase(), p.of("", p.text())),
    lambda p: _heard_again(p.phrase(), p.text()),
    lambda p: ExamAdded(p.of(None, p.exam()), p.of(None, *_TAGS)),
    lambda p: EntryTakenBack(p.entry()),
)


def _inserted(exam: int, text: str, of: int | None) -> PhraseInserted:
    return PhraseInserted(exam, text, _SAID[text], of)


def _put_right(phrase: int, text: str) -> PhrasePutRight:
    return PhrasePutRight(phrase, text, _SAID.get(text, ()))


def _heard_again(phrase: int, text: str) -> PhraseHeardAgain:
    return PhraseHeardAgain(phrase, text, _SAID[text], 0.9, "script", "g1")


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


BYTES_A_STEP = 12
"""As many as the longest step picks."""


OPENINGS: tuple[tuple[Step, ...], ...] = (
    (),
    (
        "cow eight three seven",
        "left ovary CL twenty-two, follicle nine",
        Unsure("pregnant forty days", ("pregnant fourteen days",)),
        "next cow four one two",
        "open",
        Chatter("shut that gate"),
    ),
    (
        Beside("herd"),
        "cow two six oh five",
        Unsure("left ovary CL forty", ("left ovary CL fourteen",)),
        Unsure("next cow four one two", ("left ovary CL twelve",)),
        "twins",
        Unsure("next"),
        "right ovary CL ninety",
    ),
)
"""What a course begins with: left to chance alone, few have more than one animal."""


def course_of(codes: list[bytes], opening: int = 0) -> Course:
    """The course that these bytes pick, as many steps as there are of them."""
    course = Course(OPENINGS[opening])
    for code in codes:
        course.step(Picks(code, course.visit).step())
    return course


def courses(shortest: int = 0, longest: int = 24) -> st.SearchStrategy[Course]:
    """A visit in which anything was said and done, in any order."""
    code = st.binary(min_size=BYTES_A_STEP, max_size=BYTES_A_STEP)
    # Left to itself, a list is mostly short.
    codes = st.integers(shortest, longest).flatmap(lambda n: st.lists(code, min_size=n, max_size=n))
    return st.builds(course_of, codes, st.integers(0, len(OPENINGS) - 1))
