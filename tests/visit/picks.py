"""Random courses of a visit: anything that can be said or done, in any order."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import TypeVar

from hypothesis import strategies as st

from dictation.decide.people.orders import ORDERS, About
from dictation.visit.inputs import (
    Choice,
    Deed,
    EntryTakenBack,
    ExamAdded,
    ExamApproved,
    ExamsMerged,
    ExamSplit,
    FindingChanged,
    FindingWithdrawn,
    PhraseHeardAgain,
    PhraseInserted,
    PhraseMoved,
    PhrasePutRight,
    QueryAnswered,
    TagChanged,
)
from dictation.visit.state import Visit
from grammar.findings import Command, Said
from grammar.parse import parse
from tests.decide.spoken import ON, Chatter, Unsure, sure
from tests.visit.courses import Asked, Beside, Course, Step

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
    Unsure("pregnant forty days", ("pregnant fifty days", "open")),
    Unsure("open", ("next, open",)),
    Unsure("cow four one two, open"),
    Chatter("did you see the match"),
)

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


def _said(text: str) -> tuple[Said, ...]:
    return parse(text, ON).said


_SAID = {text: _said(text) for text in ("left ovary CL twenty-four", "cow four one seven", "twins")}
_FINDINGS = tuple(
    each.what
    for text in ("left ovary CL twenty-four", "cow nine hundred", "open")
    for each in _said(text)
    if not isinstance(each.what, Command)
)

UNDO, REDO = Asked("undo", About(), ""), Asked("redo", About(), "")
_TAGS = ("837", "900", "412")
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


BYTES_A_STEP = 12
"""As many as the longest step picks."""


OPENINGS: tuple[tuple[Step, ...], ...] = (
    (),
    (
        "cow eight three seven",
        "left ovary CL twenty-two, follicle nine",
        Unsure("pregnant forty days", ("pregnant fifty days",)),
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
