"""The facts of a journal: what changed, in numbers and values.

There are two sorts. The first simply happened (a recording began, a herd list came). The second
sets one thing, and says what it ``was`` and what it is ``now``; None where it was not there, or is
not there any more. Set the other way round, it is taken back. ``WORDS`` names each kind for ever:
a word is never given to another kind, and a field that comes later has None or () as its default,
so that old facts are written as they were read.
"""

from __future__ import annotations

from dataclasses import fields, replace
from datetime import date
from typing import Any

from dictation.visit.parts import Approval, Frame, Name, Phrase, Placed, Query, worded
from grammar.exam import KnownAnimal


class Fact:
    """An entry of the journal is made of these."""

    __slots__ = ()


class Happened(Fact):
    """What simply happened."""

    __slots__ = ()


class Setting(Fact):
    """What sets one thing."""

    __slots__ = ()
    was: Any
    now: Any

    @property
    def about(self) -> object:
        """What it sets: of each kind the first field."""
        return getattr(self, fields(self)[0].name)  # type: ignore[arg-type]


WORDS: dict[type[Fact], str] = {}
"""The word of each kind in the journal."""


@worded(WORDS, "visit_opened")
class VisitOpened(Happened):
    """The first fact of every journal."""

    on_date: date
    farm: str | None = None


@worded(WORDS, "herd_listed")
class HerdListed(Happened):
    """A herd list was taken up. Kept whole, so that the visit can be read without the file."""

    digest: str
    source: str
    animals: tuple[KnownAnimal, ...]


@worded(WORDS, "recording_opened")
class RecordingOpened(Happened):
    """A recording, or a file of typed phrases, began to be heard.

    ``digest``: SHA-256 of its bytes. ``offset_s``: where it starts in the visit's audio.
    ``started_at``: local ISO time of its first sample where known.
    """

    digest: str
    name: str
    offset_s: float = 0.0
    started_at: str | None = None


@worded(WORDS, "recording_finished")
class RecordingFinished(Happened):
    """A recording was heard to its end, ``until_s`` in the visit's audio."""

    digest: str
    until_s: float


@worded(WORDS, "captured")
class Captured(Happened):
    """An utterance was cut out of the sound, and is about to be kept and heard.

    Comes before its file is written, so that a file without a phrase is known for what it is.
    """

    phrase: int
    at_s: float
    until_s: float
    recording: str | None = None


@worded(WORDS, "gap")
class Gap(Happened):
    """Nothing was listened to between two moments of the visit's audio."""

    from_s: float
    until_s: float
    why: str


@worded(WORDS, "listened")
class Listened(Happened):
    """All that was spoken until then has been dealt with; after a crash only later sound counts."""

    until_s: float


@worded(WORDS, "spoke")
class Spoke(Happened):
    """The tool speaks itself from ``from_s`` until ``until_s``.

    Written before it begins, so that its own words are never taken for the speaker's.
    """

    text: str
    from_s: float
    until_s: float


@worded(WORDS, "forgotten")
class Forgotten(Happened):
    """Somebody had something removed for good: ``what`` (sound, talk, phrase, all).

    ``phrases``: whose words or sound it was. ``kept``: exams that somebody had approved, of which
    the record stays.
    """

    what: str
    phrases: tuple[int, ...] = ()
    kept: tuple[int, ...] = ()


@worded(WORDS, "repaired")
class Repaired(Happened):
    """What could be read of a damaged journal stands before this. ``lost``: entries whose facts
    could not; ``digest``: SHA-256 of the damaged file.
    """

    digest: str
    lost: tuple[int, ...] = ()


@worded(WORDS, "phrase")
class PhraseSet(Setting):
    """A phrase came on record, or something about it changed."""

    number: int
    was: Phrase | None
    now: Phrase | None


@worded(WORDS, "exam")
class ExamSet(Setting):
    """An exam was opened, or dropped because nothing is in it. ``into``: the exam it went into.

    ``last``: the highest number of an exam from then on, where one that was opened by mistake of
    hearing gives its number back.
    """

    number: int
    was: Frame | None
    now: Frame | None
    into: int | None = None
    last: int | None = None


@worded(WORDS, "exam_named")
class ExamNamed(Setting):
    """An exam carries another tag, or the herd list knows her otherwise."""

    exam: int
    was: Name
    now: Name


@worded(WORDS, "exam_closed")
class ExamClosed(Setting):
    """An exam was closed, or opened again."""

    exam: int
    was: bool
    now: bool


@worded(WORDS, "finding")
class FindingSet(Setting):
    """A finding was recorded, changed, moved or withdrawn."""

    number: int
    was: Placed | None
    now: Placed | None


@worded(WORDS, "question")
class QuerySet(Setting):
    """Something was asked, answered, or fell away."""

    id: str
    was: Query | None
    now: Query | None


@worded(WORDS, "approval")
class ApprovalSet(Setting):
    """Somebody stands for an exam, or for the visit (``exam`` is 0)."""

    exam: int
    was: Approval | None
    now: Approval | None


@worded(WORDS, "going")
class GoingSet(Setting):
    """How the visit goes on changed: one slot of ``Going``, by its name."""

    slot: str
    was: bool | int | str | None
    now: bool | int | str | None


@worded(WORDS, "taken_back")
class TakenBack(Setting):
    """Entry number ``entry`` was taken back by entry ``by``, or stands again (0: it stands)."""

    entry: int
    was: int
    now: int


def reverse(fact: Setting) -> Setting:
    """The fact that puts things back as they were before this one."""
    other = {"into": None} if isinstance(fact, ExamSet) else {}
    turned: Any = fact
    made: Setting = replace(turned, was=fact.now, now=fact.was, **other)
    return made
